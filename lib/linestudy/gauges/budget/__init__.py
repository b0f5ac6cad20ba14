"""What the errors of a measurement add up to, and which verdicts they turn."""
