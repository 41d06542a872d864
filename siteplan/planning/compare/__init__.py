"""Plans beside one another: of several satellites, and what changes between them."""
