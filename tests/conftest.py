"""Puts `pattern_making` and `fixtures/` within reach of every folder of tests, and lets no property test fail for being slow.

What the user of this machine trusts, what was kept of their runs, and the settings that their environment names, are none of the tests' business.
"""

import os
import sys
import tempfile
from pathlib import Path
from uuid import uuid4

import pytest
from hypothesis import settings

sys.path.insert(0, str(Path(__file__).parent.parent / "fixtures"))

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")


_configuration = tempfile.TemporaryDirectory(prefix="seamcheck-tests-")  # goes with the process
os.environ["XDG_CONFIG_HOME"] = os.environ["XDG_CACHE_HOME"] = _configuration.name
os.environ.pop("SEAMCHECK_SETTINGS", None)


@pytest.fixture(autouse=True)
def own_cache(monkeypatch):
    """What one test keeps of a run is found by no other."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(Path(_configuration.name, uuid4().hex)))


@pytest.fixture(scope="module")
def read_once():
    """For a module of tests that is not about reading: see `judging.read_once`."""
    from judging import read_once

    with pytest.MonkeyPatch.context() as patch:
        read_once(patch)
        yield
