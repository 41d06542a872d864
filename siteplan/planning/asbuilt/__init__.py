"""What came back against what was planned, and its likely causes."""
