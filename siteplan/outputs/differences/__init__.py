"""What lies between two plans: a table of every change with its cause, and a page to print."""
