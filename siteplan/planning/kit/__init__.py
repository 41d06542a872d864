"""The kit: which antenna and BUC, and why none where none does."""
