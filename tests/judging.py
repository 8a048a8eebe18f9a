"""Files of the demo and the corpus as they are read and judged by what is built in, each once in a process.

All that is given out is frozen: no test can change what another gets. A test that is about reading or judging twice takes
the program itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import drafted
import pytest

from seamcheck import reading
from seamcheck.config.limits import Limits, ReadOptions
from seamcheck.config.settings import Settings
from seamcheck.engine import plugins
from seamcheck.engine.judge import check_file
from seamcheck.engine.plugins import Registry
from seamcheck.engine.propose import propose_seams
from seamcheck.engine.read import Request, read
from seamcheck.engine.result import FileResult
from seamcheck.pairing.proposal import Proposal
from seamcheck.pattern.drawing import Drawing
from seamcheck.pattern.model import Pattern
from seamcheck.pattern.plan import Plan
from seamcheck.pieces import build, outline
from seamcheck.pieces.outline import Sheet
from seamcheck.reading.base import Importer
from seamcheck.truing.recipes import with_recipes


@cache
def registry() -> Registry:
    """What comes with seamcheck, and the plugins that are installed."""
    return plugins.load(Settings())


def judged(path: Path, **asked: object) -> FileResult:
    """The result of a file that no test changes, with its geometry; `asked` are other fields of a Request."""
    return _judged(path, Request(geometry=True, **asked))


def opened(path: Path, **asked: object) -> tuple[Pattern, Plan | None]:
    """The pattern in a file that no test changes, and its plan."""
    return _opened(path, Request(**asked))


def propose(path: Path, plan: str | None = None) -> Proposal:
    """The seams proposed for a copy of a file, which has this plan beside it or none."""
    with TemporaryDirectory() as folder:
        copy = Path(folder) / path.name
        copy.write_bytes(path.read_bytes())
        if plan is not None:
            copy.with_suffix(".seams.toml").write_text(plan, encoding="utf-8")
        return propose_seams(str(copy), Request(), registry(), Settings())


proposed = cache(propose)


@cache
def _judged(path: Path, request: Request) -> FileResult:
    with pytest.MonkeyPatch.context() as patch:
        read_once(patch)
        return check_file(str(path), request, registry(), Settings(), with_recipes)


@cache
def _opened(path: Path, request: Request) -> tuple[Pattern, Plan | None]:
    with pytest.MonkeyPatch.context() as patch:
        read_once(patch)
        return read(str(path), request, registry(), Settings())


# The program's own, whatever stands in their place for a while.
READ_DRAWING, ASSEMBLE, BUILD_PATTERN = reading.read_drawing, outline.assemble, build.build_pattern


@dataclass
class Readings:
    """What was read of files under fixtures/, which no test changes; anything else is read each time."""

    drawings: dict[tuple[object, ...], Drawing] = field(default_factory=dict)
    sheets: dict[int, tuple[Drawing, Sheet]] = field(default_factory=dict)
    patterns: dict[tuple[object, ...], Pattern] = field(default_factory=dict)

    def read_drawing(self, path: str, options: ReadOptions | None, known: Sequence[Importer]) -> Drawing:
        """As the program reads it."""
        place = Path(path).resolve()
        if not any(place.is_relative_to(folder) for folder in (drafted.HERE, drafted.CACHE)):
            return READ_DRAWING(path, options, known)
        key = (path, place, repr(options), tuple(known))
        if key not in self.drawings:
            self.drawings[key] = READ_DRAWING(path, options, known)
            self.sheets[id(self.drawings[key])] = self.drawings[key], ASSEMBLE(self.drawings[key])
        return self.drawings[key]

    def assemble(self, drawing: Drawing, limits: Limits | None = None) -> Sheet:
        """As the program assembles it."""
        return self.sheets[id(drawing)][1] if id(drawing) in self.sheets else ASSEMBLE(drawing, limits)

    def build_pattern(self, drawing: Drawing, sheet: Sheet, plan: Plan | None, **asked: object) -> Pattern:
        """As the program builds it."""
        if id(drawing) not in self.sheets or sheet is not self.sheets[id(drawing)][1]:
            return BUILD_PATTERN(drawing, sheet, plan, **asked)
        key = (id(drawing), repr(plan), repr(sorted(asked.items())))
        if key not in self.patterns:
            self.patterns[key] = BUILD_PATTERN(drawing, sheet, plan, **asked)
        return self.patterns[key]


READINGS = Readings()


def read_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the program read a file under fixtures/ once in a process, whatever tells it to: a command, a program, a report."""
    monkeypatch.setattr(reading, "read_drawing", READINGS.read_drawing)
    monkeypatch.setattr(outline, "assemble", READINGS.assemble)
    monkeypatch.setattr(build, "build_pattern", READINGS.build_pattern)
