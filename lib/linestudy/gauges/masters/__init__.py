"""Readings of masters: bias, linearity, repeatability, drift; the step and unit of readings."""
