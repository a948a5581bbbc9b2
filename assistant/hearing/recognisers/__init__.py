"""Recognisers behind one protocol: from an utterance to what it may have been."""
