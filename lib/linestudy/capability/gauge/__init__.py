"""What the gauge does to the index: taken out of it, and the wrong verdicts it gives."""
