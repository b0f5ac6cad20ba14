"""Lots (coils, batches): what few of them let anyone say of the process that goes on to others."""
