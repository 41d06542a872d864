"""What came back against the plan, as files and a list to print."""
