"""How a table is laid out: which columns hold position, name and id, judged by their values."""
