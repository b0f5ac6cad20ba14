"""One file of a line log in memory, and the sums that are taken of it there."""
