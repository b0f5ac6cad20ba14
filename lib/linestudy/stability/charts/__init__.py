"""Charts: their limits, rules, signals and run lengths, and the plan by which to go on charting."""
