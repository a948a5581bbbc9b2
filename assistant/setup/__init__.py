"""The first set-up: questions and answers, and the settings file that comes of them."""
