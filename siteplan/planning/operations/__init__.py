"""The network at work: what monitoring is to expect of it, and what its log of outages says."""
