"""Numerical methods that more than one method of a room rests on."""
