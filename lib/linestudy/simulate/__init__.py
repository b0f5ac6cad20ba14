"""Simulate."""
