"""Words: the language in force, numbers as spoken, text made fit to print."""
