"""The link budget of one site, line by line."""
