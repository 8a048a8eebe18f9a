"""Puts `pattern_making` and `fixtures/` within reach of every folder of tests, and lets no property test fail for being slow."""

import sys
from pathlib import Path

from hypothesis import settings

sys.path.insert(0, str(Path(__file__).parent.parent / "fixtures"))

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
