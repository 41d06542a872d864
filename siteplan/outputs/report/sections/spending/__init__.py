"""Sections on what is spent over time: cost over the years, and the roll-out."""
