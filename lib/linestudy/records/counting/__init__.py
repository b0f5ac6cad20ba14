"""How rows are counted where their counters begin anew."""
