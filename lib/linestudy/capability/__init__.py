"""Capability."""
