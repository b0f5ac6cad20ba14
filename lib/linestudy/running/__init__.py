"""How the kit runs: its processes and threads, progress, old names, errors nobody foresaw."""
