"""Hearing by sounds: a network that tells phones, and what words those phones can be."""
