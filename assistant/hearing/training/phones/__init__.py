"""Trains the phone network: `python -m assistant.hearing.training.phones.train_phones`."""
