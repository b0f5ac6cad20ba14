"""Stability."""
