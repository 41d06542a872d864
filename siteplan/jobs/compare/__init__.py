"""Comparisons, end to end."""
