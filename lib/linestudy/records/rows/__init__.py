"""Rows among the readings of a file that are none, or of another part: names again, remarks, limits, totals."""
