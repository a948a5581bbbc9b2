"""Talks a machinist through an indexing job: the session, its journal and its devices."""

__version__ = "0.1.0"
