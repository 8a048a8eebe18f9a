"""Templates compiled once and kept, for compiling them takes longer than filling them.

They are kept where and as Python keeps its modules: in `__pycache__` or below PYTHONPYCACHEPREFIX, by version of Python, and not at
all where PYTHONDONTWRITEBYTECODE says so or nothing can be written.
"""

from __future__ import annotations

import contextlib
import sys
from importlib.metadata import version
from importlib.resources import files
from importlib.util import cache_from_source
from pathlib import Path
from pickle import UnpicklingError

from jinja2.bccache import Bucket, BytecodeCache

from seamcheck.files import replacing

JINJA2 = version("jinja2")


class Compiled(BytecodeCache):
    """The compiled templates of `report/`; jinja2 leaves aside what was made of another text or by another Python."""

    def get_cache_key(self, name: str, filename: str | None = None) -> str:
        """The path at which a template is kept; "" where this Python keeps nothing."""
        with contextlib.suppress(NotImplementedError):
            # With an ending of its own: page.py lies beside page.html.
            return cache_from_source(f"{files('seamcheck.report').joinpath(name)}.py")
        return ""

    def get_source_checksum(self, source: str) -> str:
        """What a compiled template hangs on beside Python: its text and jinja2."""
        return super().get_source_checksum(f"{JINJA2}\n{source}")

    def load_bytecode(self, bucket: Bucket) -> None:
        """Take what is kept, if it can be read."""
        with contextlib.suppress(OSError, EOFError, ValueError, UnpicklingError), Path(bucket.key).open("rb") as kept:
            bucket.load_bytecode(kept)

    def dump_bytecode(self, bucket: Bucket) -> None:
        """Keep what was compiled, if it can be written."""
        if not bucket.key or sys.dont_write_bytecode:
            return
        path = Path(bucket.key)
        with contextlib.suppress(OSError):
            path.parent.mkdir(parents=True, exist_ok=True)
            with replacing(path, bucket.bytecode_to_string()):
                pass
