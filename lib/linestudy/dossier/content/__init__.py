"""What the submission says, in order, before anyone decides how it looks."""
