"""Decisions: sizing, mounts, flags; plan.py strings the steps together."""
