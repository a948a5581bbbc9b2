"""Making the recordings that the classifier is trained on, and training it."""
