"""A job: from its file to checked moves, cuts and depths."""
