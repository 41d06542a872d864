"""The link budget of one site in files: a table, and a page to print."""
