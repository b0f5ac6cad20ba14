"""Text whose lines hold their cells otherwise than with a mark between: in columns, or each value behind its name."""
