"""What is said to the gardener, in one file a language."""
