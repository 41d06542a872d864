"""Keys on how sure the plan is: climate, uncertainty."""
