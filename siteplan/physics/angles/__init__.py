"""Where things stand: satellite, sun, horizon, the earth's field, and how a dish points."""
