"""Where the satellite's beams fall: levels from contours and ellipses, and what sites have."""
