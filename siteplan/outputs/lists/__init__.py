"""What the crew carries beside the sheets: kit list, tracks, sun transits, the blank."""
