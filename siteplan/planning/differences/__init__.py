"""Why two plans differ: their inputs in groups, and what switching each group changes."""
