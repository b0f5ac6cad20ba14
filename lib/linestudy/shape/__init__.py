"""Shape."""
