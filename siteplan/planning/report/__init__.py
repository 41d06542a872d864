"""The plan in short: counts, classes, the worst sites, which sites a large map shows."""
