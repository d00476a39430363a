"""Property tests draw the same cases every time and are not timed: a slow machine is no finding."""

from hypothesis import settings

settings.register_profile("steady", deadline=None, derandomize=True)
settings.load_profile("steady")
