"""When the sites are built: tables for whoever plans the work and orders for it."""
