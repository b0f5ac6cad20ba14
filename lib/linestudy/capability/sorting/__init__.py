"""Parts that were sorted before they were recorded: whether they were, and the process before that."""
