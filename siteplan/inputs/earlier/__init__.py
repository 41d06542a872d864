"""What an earlier plan left in its output, read back: its inputs and its results."""
