"""Sentences made heard."""
