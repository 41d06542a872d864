"""Data that travels with the package, and the scripts that make it."""
