"""Which encoding a text is in, by its letters."""
