"""Maps of radio meteorology: their files, whether they are whole, and reading them at places."""
