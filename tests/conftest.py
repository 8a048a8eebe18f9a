"""Puts `pattern_making` within reach of every folder of tests, and lets no property test fail for being slow."""

from hypothesis import settings

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
