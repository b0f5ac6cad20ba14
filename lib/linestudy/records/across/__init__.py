"""Readings that lie across the columns of a file: wide sheets of every role, each cell with its row and column."""
