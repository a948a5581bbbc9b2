"""Hearing phrases beside a running machine: speech embedding, trained classifier, early
decision."""
