"""Coverage: the plan's chain at the points of a grid."""
