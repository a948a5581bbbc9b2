"""The user's own voice: recorded, learned from, deleted."""
