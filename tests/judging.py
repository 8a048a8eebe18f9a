"""Files of the demo and the corpus as they are read and judged by what is built in, each once in a process.

All that is given out is frozen: no test can change what another gets.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

from seamcheck import hooks
from seamcheck.engine import Request, check_file, read
from seamcheck.model import Pattern
from seamcheck.plan import Plan
from seamcheck.registry import Registry
from seamcheck.result import FileResult
from seamcheck.settings import Settings


@cache
def registry() -> Registry:
    """What comes with seamcheck, and the plugins that are installed."""
    return hooks.load(Settings())


def judged(path: Path, **asked: object) -> FileResult:
    """The result of a file that no test changes; `asked` are fields of a Request."""
    return _judged(path, Request(**asked))


def opened(path: Path, **asked: object) -> tuple[Pattern, Plan | None]:
    """The pattern in a file that no test changes, and its plan."""
    return _opened(path, Request(**asked))


@cache
def _judged(path: Path, request: Request) -> FileResult:
    return check_file(str(path), request, registry(), Settings())


@cache
def _opened(path: Path, request: Request) -> tuple[Pattern, Plan | None]:
    return read(str(path), request, registry(), Settings())
