"""What asks for a new garden and writes its file."""
