"""Comparisons on paper and as tables."""
