"""What the plan as a whole says of its hub."""
