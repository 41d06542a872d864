"""What a licence asks, for regulator and operator: tables of what radiates, and its curves."""
