"""Plans held against one another: what is kept of one for that, and what lies between two."""
