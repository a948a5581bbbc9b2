"""Property tests judge what is right, never how long it takes on a busy machine."""

from hypothesis import settings

settings.register_profile("solver", deadline=None)
settings.load_profile("solver")
