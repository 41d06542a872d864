"""The sheet of each site: what it shows, drawn and laid out."""
