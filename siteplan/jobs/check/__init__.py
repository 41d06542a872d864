"""What a project was understood as: told, folded and written."""
