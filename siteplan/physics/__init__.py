"""Pure functions on arrays, one file a phenomenon, each citing its standard."""
