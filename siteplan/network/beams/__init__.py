"""Tables on where the satellite's beams fall: shapes on the ground, contours of their levels."""
