"""Position of an axis in a round tolerance zone."""
