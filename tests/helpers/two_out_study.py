"""The study.toml of a log of a tool with two lanes, for tests of the line log."""

from __future__ import annotations

STUDY = """format = 1
[study]
title = "Two out"
part = "P"
line_rate = 30
[tool]
parts_per_stroke = 2
[[characteristic]]
id = "w"
name = "W"
unit = "mm"
lower = 9.0
upper = 11.0
[[data]]
role = "run"
file = "day1.csv"
columns = { w = "W" }
order = "Hub"
station = "Lane"
subgroup = { size = 5, every = 50 }
"""
