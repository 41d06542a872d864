"""What those who run the network get: levels for monitoring, and what its log of outages says."""
