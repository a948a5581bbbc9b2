"""Files of the program and of its user: where they lie, and how they are read."""
