"""When the sites are built, and what that asks for month by month."""
