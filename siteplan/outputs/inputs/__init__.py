"""What a plan was made from, written beside what came of it."""
