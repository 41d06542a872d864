"""Tables, map and summary. They compute nothing."""
