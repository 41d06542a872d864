"""What sites are connected for: which applications each has, what they ask of plan and link."""
