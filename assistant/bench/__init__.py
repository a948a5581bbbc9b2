"""A session at the bench, or rehearsed: compute, record, act."""
