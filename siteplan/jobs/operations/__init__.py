"""Jobs of those who run the network."""
