"""Study."""
