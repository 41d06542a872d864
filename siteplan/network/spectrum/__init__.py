"""Tables on what others radiate and what may be radiated: neighbours, patterns, limits."""
