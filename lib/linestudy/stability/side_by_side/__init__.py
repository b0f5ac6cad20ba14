"""Streams of one tool beside each other in time: the group chart, and whether the sampling plan reaches all of them."""
