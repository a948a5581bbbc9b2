"""The pedal: its contact, its gestures, which key it is."""
