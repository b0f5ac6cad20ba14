"""The part as a whole: all limits at once, what fell into the bins, and rejects foreseen and counted."""
