"""Studies with known truth in the repository: one tool with one outlet, one with two."""
