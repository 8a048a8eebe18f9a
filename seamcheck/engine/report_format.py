"""What a report format is, and what it is told about the place it will be read in."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import PurePath
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from seamcheck.engine.result import FileResult, Report


# A suffix that is a format's name means that format; these mean one as well.
SUFFIXES = {"txt": "text", "htm": "html", "md": "markdown", "xml": "junit", "sarif.json": "sarif", "ndjson": "table"}


def format_of(path: str, known: Sequence[str]) -> str | None:
    """The format that the name of a file tells, out of those that are known; None where it tells none."""
    name = PurePath(path).name.lower()
    endings = {**SUFFIXES, **{one: one for one in known}}
    for ending in sorted(endings, key=len, reverse=True):
        if name.endswith(f".{ending}") and endings[ending] in known:
            return endings[ending]
    return None


Kept: TypeAlias = "Callable[[FileResult, object, Callable[[], str]], str]"


def made_anew(file: FileResult, what: object, make: Callable[[], str]) -> str:
    """What is told of a file, where nothing of it is kept."""
    return make()


@dataclass(frozen=True, slots=True, kw_only=True)
class RenderOptions:
    """`width` is in characters; `colour` says whether terminal colour codes may be used.

    `verbose` asks for all that was looked at and by what measure, where a report is short otherwise. `only` is the one
    seam, piece or corner to tell of, for formats that can. `quiet` asks for nothing but the names of what is not good,
    `statistics` for how much was found of what. `kept` gives what was told of a file in an earlier run, or makes it: `what` is all that
    the text hangs on beside the file's result.
    """

    width: int = 80
    colour: bool = False
    verbose: bool = False
    quiet: bool = False
    statistics: bool = False
    only: str | None = None
    kept: Kept = field(default=made_anew, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class ReportFormat:
    """One format: `render` makes the whole text of a run, ending in a newline.

    `meaning` is what it is, without a full stop; `details` are sentences on what else to know of it.

    A format that draws asks for the `geometry` of every file; without that no result keeps it. One that can tell of a
    seam, a piece or a corner alone heeds `only` of the options. One that can be read while a run goes on has `each`, the
    text of a file that is judged, and `last`, what comes behind those of all files: of each the report has the path and the
    failures then, and of what was found and skipped no more than checks, codes and severities.
    """

    name: str
    meaning: str
    render: Callable[[Report, RenderOptions], str]
    geometry: bool = False
    only: bool = False
    each: Callable[[FileResult, RenderOptions], str] | None = None
    last: Callable[[Report, RenderOptions], str] | None = None
    details: str = ""
