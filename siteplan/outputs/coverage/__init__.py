"""Coverage as files: contours, land, grid."""
