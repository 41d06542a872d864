"""What is leased: a table of carriers."""
