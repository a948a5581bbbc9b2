"""The steps of the set-up by name, in their order, with their headings: without what they do, which
takes long to import. The speaker comes first: the rest is then heard.
"""

HEADINGS = {
    "speaker": "The speaker",
    "voice": "The voice",
    "head": "The dividing head",
    "units": "Lengths",
    "pedal": "The foot pedal",
    "answers": "Lock and guard",
    "microphone": "The microphone",
    "learn": "Your voice",
}
