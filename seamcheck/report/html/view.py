"""One file of a report as its page shows it: its findings numbered, and what place, seam and junction each of them is of."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

from seamcheck.engine.causes import causes_of
from seamcheck.engine.grouping import weight

if TYPE_CHECKING:
    from seamcheck.engine.causes import Cause
    from seamcheck.engine.grouping import Group
    from seamcheck.engine.result import FileResult, Finding
    from seamcheck.report.figures.marks import Marked

JUNCTION_CHECK = "corner-blend"  # what this check finds lies at a junction, also where it is told in mm

Key = tuple[str, str, str]  # "seam", "junction" or "piece"; its name, or its place in the result's list; the size


class Told(NamedTuple):
    """A group of findings with its number on the page; where it heads a cause, that and its signs."""

    number: int
    group: Group
    cause: Cause | None = None
    signs: tuple[Told, ...] = ()

    @property
    def severity(self) -> str:
        """How grave it is: "error", "warning" or "note"."""
        return (self.cause or self.group).severity.value


class FindingMark(NamedTuple):
    """What is marked for a finding, and on which piece in which size."""

    number: int
    piece: str
    size: str
    marked: Marked


@dataclass(slots=True)
class View:
    """A file and what its part of the page is made from; `level` is that of its own heading."""

    file: FileResult
    prefix: str
    level: int
    told: tuple[Told, ...] = ()
    accepted: tuple[Group, ...] = ()
    marks: tuple[FindingMark, ...] = ()
    drawn: dict[Key, int] = field(default_factory=dict)  # which finding each figure stands with

    def every(self) -> Iterator[Told]:
        """All numbered groups, the head of each cause before its signs."""
        for told in self.told:
            yield told
            yield from told.signs

    def id(self, kind: str, number: int) -> str:
        """The id of a part of the page."""
        return f"{self.prefix}-{kind}-{number}"

    def grade(self, number: int) -> str:
        """How grave a finding is, by its number."""
        return next(told.severity for told in self.every() if told.number == number)

    def mark(self, number: int) -> FindingMark | None:
        """Where a finding lies first; None where it lies nowhere."""
        return next((mark for mark in self.marks if mark.number == number), None)

    def figures(self, told: Told) -> tuple[Key, ...]:
        """What is drawn large for a finding below its words: its seam or junction."""
        return () if self.file.geometry is None else figures_of(self.file, told.group.worst)

    def pictured(self, told: Told) -> list[tuple[str, str]]:
        """The pieces that are drawn with a cause, each with its size."""
        return [
            (name, size)
            for (kind, name, size), number in self.drawn.items()
            if kind == "piece" and number == told.number
        ]

    @property
    def seams(self) -> tuple[str, ...]:
        """The names of all walked seams, as the file lists them."""
        return tuple(dict.fromkeys(seam.name for seam in self.file.seams))

    def marks_of(self, piece: str) -> Mapping[str, Mapping[int, FindingMark]]:
        """The marks on a piece: for each size that has any, by number."""
        found: dict[str, dict[int, FindingMark]] = {}
        for mark in self.marks:
            if mark.piece == piece:
                found.setdefault(mark.size, {}).setdefault(mark.number, mark)
        return {size: found[size] for size in self.file.sizes if size in found}

    def numbers_of_piece(self, piece: str) -> tuple[int, ...]:
        """The findings that name a piece."""
        return tuple(told.number for told in self.every() if any(piece in named(one) for one in told.group.findings))

    def numbers_of_seam(self, seam: str) -> tuple[int, ...]:
        """The findings along a seam or where it ends."""
        return tuple(told.number for told in self.every() if any(one.seam == seam for one in told.group.findings))

    def numbers_of_junction(self, indices: Sequence[int]) -> tuple[int, ...]:
        """The findings at junctions, given by their places in the result's list."""
        return tuple(
            told.number
            for told in self.every()
            if any(junction_of(self.file, one) in indices for one in told.group.findings)
        )


def view_of(file: FileResult, prefix: str, level: int) -> View:
    """The view of a file."""
    causes = causes_of(file)
    view = View(file, prefix, level, accepted=tuple(cause.head for cause in causes if cause.accepted is not None))
    view.told = tuple(_numbered(cause for cause in causes if cause.counts))
    view.marks = tuple(mark for told in view.every() for mark in _marks(file, told))
    for told in view.every():
        for key in view.figures(told):
            view.drawn.setdefault(key, told.number)
    # A piece is drawn once: with the first cause that is marked on it, by itself or by a sign of it.
    for cause in view.told:
        for told in (cause, *cause.signs):
            mark = view.mark(told.number)
            if mark is not None:
                view.drawn.setdefault(("piece", mark.piece, mark.size), cause.number)
    return view


def _numbered(causes: Iterable[Cause]) -> Iterator[Told]:
    number = 1
    for cause in causes:
        signs = tuple(Told(k, group) for k, group in enumerate(cause.signs, number + 1))
        yield Told(number, cause.head, cause, signs)
        number += 1 + len(signs)


def named(finding: Finding) -> tuple[str, ...]:
    """The pieces that a finding is of, also where it names edges alone."""
    return finding.pieces or tuple(dict.fromkeys(edge.lstrip("-").partition(".")[0] for edge in finding.edges))


def _marks(file: FileResult, told: Told) -> Iterator[FindingMark]:
    if file.geometry is None:
        return
    from seamcheck.report.figures.marks import marked

    for place in told.group.places:
        finding = min(place, key=weight)
        found = marked(file, finding, told.severity)
        if found is not None:
            size = finding.size or (file.sizes[0] if file.sizes else "")
            yield FindingMark(told.number, found[0], size, found[1])


def junction_of(file: FileResult, finding: Finding) -> int | None:
    """The junction that a finding is of, by its place in the result's list."""
    if file.geometry is None or (finding.unit != "degrees" and finding.check != JUNCTION_CHECK):
        return None
    return file.junction_of(finding)


def figures_of(file: FileResult, finding: Finding) -> tuple[Key, ...]:
    """The seam and the junction that a finding is of, as they can be drawn."""
    junction = junction_of(file, finding)
    if junction is not None and finding.unit == "degrees":
        return (("junction", str(junction), finding.size),)
    keys = []
    if finding.seam and any(one.name == finding.seam and one.size == finding.size for one in file.seams):
        keys.append(("seam", finding.seam, finding.size))
    if junction is not None:
        keys.append(("junction", str(junction), finding.size))
    return tuple(keys)
