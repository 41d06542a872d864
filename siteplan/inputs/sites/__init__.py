"""The sites: their table, coordinates in all spellings, doubts, one site alone."""
