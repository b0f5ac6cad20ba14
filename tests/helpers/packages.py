"""Packages of the kit that offer something to whoever calls it."""

from __future__ import annotations

#: In the order the data go.
PACKAGES = (
    *("study", "records", "gauges", "stability", "shape", "tails", "capability", "verdict"),
    *("dossier", "plan", "simulate", "linelog", "results", "numerics"),
)
