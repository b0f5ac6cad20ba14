"""The crossed study: design, mean squares, intervals, and what drives it."""
