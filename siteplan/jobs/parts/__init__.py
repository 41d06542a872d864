"""Very large plans: spread over parts, processors and clusters."""
