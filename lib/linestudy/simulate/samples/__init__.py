"""Studies with known truth that stand in the repository: one tool with one outlet, one with two."""
