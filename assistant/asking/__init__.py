"""A job by question and answer, in the order in which a drawing is read; mended the same way."""
