"""The link: both directions' budget, weather at both ends, availability, what-if."""
