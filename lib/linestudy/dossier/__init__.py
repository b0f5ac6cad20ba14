"""Dossier."""
