"""Plans held against one another: of several satellites, and two that were made."""
