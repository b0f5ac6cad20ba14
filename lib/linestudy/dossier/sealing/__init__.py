"""Sealing a dossier: keys, signatures, and what a signature says of a folder."""
