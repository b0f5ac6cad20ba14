"""Verdict."""
