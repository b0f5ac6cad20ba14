"""Yield and rejects of a run whose log holds the sorter's verdict."""
