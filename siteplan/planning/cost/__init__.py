"""What sites take and cost: parts and work of each, the counts that add up, the bill."""
