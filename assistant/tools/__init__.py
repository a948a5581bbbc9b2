"""Run by hand: the session's diagram, the catalogue of sentences."""
