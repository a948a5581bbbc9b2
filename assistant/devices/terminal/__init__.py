"""The terminal: screen and keys."""
