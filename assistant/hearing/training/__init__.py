"""Making the recordings that the head is trained on, and training it."""
