"""Cautions of all studies: every kind with whom it is for, and what the document makes of it."""
