"""What a file that nobody has described says only to a person."""
