"""Rules that turn state and outlook into notices."""
