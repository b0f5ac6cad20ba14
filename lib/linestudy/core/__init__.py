"""The second core."""
