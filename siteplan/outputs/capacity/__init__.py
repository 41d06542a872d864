"""What is leased, and what the satellite's operator asks: tables of carriers, a page."""
