"""Hearing phrases beside a running machine: speech embedding, trained head, early decision."""
