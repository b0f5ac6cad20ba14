"""Readings that use up the specimen: nested studies."""
