"""Pictures: one file per room; each draws what it is handed and computes nothing."""
