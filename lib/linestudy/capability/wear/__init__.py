"""Capability over the life of a tool that wears and is ground again."""
