"""Mounts, a file a kind, and the choice among them."""
