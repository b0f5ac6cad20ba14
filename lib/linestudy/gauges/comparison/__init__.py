"""Two gauges on the same parts."""
