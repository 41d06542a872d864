"""What others radiate and what may be radiated: neighbours, patterns, interference, limits."""
