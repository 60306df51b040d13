"""Property tests without a deadline: on a busy machine a slow example proves nothing."""

from hypothesis import settings

settings.register_profile("no deadline", deadline=None)
settings.load_profile("no deadline")
