"""What one cell holds: signs, and words of dates and times, as people and programs of many countries write them."""
