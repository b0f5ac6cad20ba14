"""Does a record contradict itself: copies, averages, digits, gaps, studies that do not fit together."""
