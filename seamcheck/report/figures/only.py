"""One picture of one thing that a person names: a seam, a piece, or a corner with all that comes together there."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

from seamcheck.checks.base import Severity
from seamcheck.errors import SeamcheckError
from seamcheck.report.figures.junction import found_at, junction_figure
from seamcheck.report.figures.marks import marked
from seamcheck.report.figures.parts import found_in_seam, geometry_of, pieces_in, walked
from seamcheck.report.figures.piece import piece_figure
from seamcheck.report.figures.seam import seam_figure
from seamcheck.spelling import nearest

if TYPE_CHECKING:
    from seamcheck.engine.result import FileResult, Finding
    from seamcheck.report.figures.base import Figure
    from seamcheck.report.figures.marks import Marked

KINDS = ("seam", "piece", "corner")


def only_figure(file: FileResult, name: str) -> Figure:
    """The picture of what is named, in the size in which most is wrong with it.

    A name is that of a seam, of a piece, of a corner ("front.crotch-point") or of an edge, which stands for its seam; where a
    seam and a piece have one name, the word before it tells: "piece band". SeamcheckError for a name that is none of
    these, with the nearest one.
    """
    if file.geometry is None:
        raise SeamcheckError("nothing could be judged, so there is nothing to draw", path=file.path)
    kind, _, rest = name.partition(" ")
    known = _known(file)
    if kind in KINDS and rest in known[kind]:
        return _draw(file, kind, rest)
    for kind in KINDS:
        if name in known[kind]:
            return _draw(file, kind, name)
    seam = _seam_of(file, name)
    if seam is not None:
        return _draw(file, "seam", seam)
    names = [one for each in known.values() for one in each]
    if name in {f"{piece.name}.{corner.name}" for piece in geometry_of(file).pieces for corner in piece.corners}:
        raise SeamcheckError(
            f"no angles were judged at corner {name}, so there is no picture of it",
            path=file.path,
            remedy="seamcheck check --verbose tells what was left out, and why",
        )
    raise SeamcheckError(
        f'there is no seam, piece or corner "{name}"', path=file.path, remedy=nearest(name, names, "name")
    )


def _known(file: FileResult) -> Mapping[str, Sequence[str]]:
    corners = (corner for junction in file.junctions for corner in junction.corners)
    return {
        "seam": list(dict.fromkeys(seam.name for seam in file.seams)),
        "piece": list(dict.fromkeys(piece.name for piece in geometry_of(file).pieces)),
        "corner": list(dict.fromkeys(corners)),
    }


def _seam_of(file: FileResult, edge: str) -> str | None:
    """The first seam that an edge is in."""
    for seam in file.seams:
        if edge in {one.removeprefix("-") for one in (*seam.first.edges, *seam.second.edges)}:
            return seam.name
    return None


def _draw(file: FileResult, kind: str, name: str) -> Figure:
    draw: dict[str, Callable[[FileResult, str], Figure]] = {"seam": _seam, "piece": _piece, "corner": _corner}
    return draw[kind](file, name)


def _seam(file: FileResult, name: str) -> Figure:
    sizes = [seam.size for seam in file.seams if seam.name == name]

    def wrong(size: str) -> tuple[float, float]:
        return _gravity(found_in_seam(file, name, size)), -abs(walked(file, name, size).walk.deviation)

    return seam_figure(file, name, min(sizes, key=wrong))


def _corner(file: FileResult, name: str) -> Figure:
    places = [k for k, junction in enumerate(file.junctions) if name in junction.corners]

    def wrong(place: int) -> tuple[float, float]:
        told = file.junctions[place]
        return _gravity(found_at(file, place)), -abs(told.angle - told.expected)

    return junction_figure(file, min(places, key=wrong))


def _piece(file: FileResult, name: str) -> Figure:
    sizes = [size for size in file.sizes if name in pieces_in(file, size)]
    size = min(sizes, key=lambda size: _gravity([one for one, _ in _on_piece(file, name, size)]))
    marks = {k: mark for k, (_, mark) in enumerate(_on_piece(file, name, size), 1)}
    return piece_figure(file, name, size, marks)


def _on_piece(file: FileResult, name: str, size: str) -> list[tuple[Finding, Marked]]:
    """What was found that is marked on a piece, with the marks."""
    found = ((one, marked(file, one)) for one in file.findings if one.size == size and one.counts)
    return [(one, at[1]) for one, at in found if at is not None and at[0] == name]


def _gravity(findings: Sequence[Finding]) -> float:
    return min((Severity(one.severity).rank for one in findings), default=len(Severity))
