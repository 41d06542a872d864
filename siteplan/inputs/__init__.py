"""What people hand us, checked once."""
