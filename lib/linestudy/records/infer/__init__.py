"""What a file is that nobody has described yet: its columns, its role, its keys, each with evidence."""
