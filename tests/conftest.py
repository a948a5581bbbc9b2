"""Property tests judge what is right, never how long it takes on a busy machine."""

from hypothesis import settings

settings.register_profile("patient", deadline=None)
settings.load_profile("patient")
