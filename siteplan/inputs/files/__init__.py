"""One reader a file format; ``tables`` chooses among them."""
