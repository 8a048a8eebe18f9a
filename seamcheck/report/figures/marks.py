"""Where a finding lies on its piece, as a picture marks it: the place, the stretch that differs, a presumed slash, a bend.

stretch  the part of a seam's side that a difference lies in, on the piece that the recipe draws anew first
slash    the line along which a piece was presumably opened or overlapped, from its hinge to the stretch
bend     a kink of an edge or of a grain arrow: the lines before and behind it, in the file's axes
ought    the lines of that piece as the recipe draws them anew
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import groupby, pairwise
from typing import TYPE_CHECKING, NamedTuple

from seamcheck.amounts import Angle, Length, Phrase
from seamcheck.exact import least, most
from seamcheck.geometry.curve import Curve
from seamcheck.report.figures.parts import pieces_in

if TYPE_CHECKING:
    from seamcheck.engine.result import FileResult, Finding
    from seamcheck.pattern.model import Edge, Piece
    from seamcheck.pattern.seams import Side
    from seamcheck.pattern.walk import Walk

ARM = 60.0  # mm that are kept of the lines on either side of a bend
FAR = 4.0  # times the length of a piece's outline: beyond all of it
SHORT = 1e-3  # mm
TRIED = 48  # places along a new line


class Bend(NamedTuple):
    """A kink: its angle in degrees, and the lines before and behind it, which meet there."""

    turn: float
    before: Curve
    behind: Curve


class Marked(NamedTuple):
    """What is marked on a piece for one finding: a place in the file's axes, how grave it is, and what else is known of it."""

    at: complex
    grade: str
    stretch: tuple[Curve, ...] = ()
    slash: tuple[complex, complex] | None = None  # from its hinge to the edge that it was opened at
    bend: Bend | None = None
    ought: tuple[Curve, ...] = ()  # the lines of the piece as the recipe draws them


def marked(file: FileResult, finding: Finding, grade: str = "") -> tuple[str, Marked] | None:
    """The piece that a finding is marked on and the mark; None where it lies nowhere.

    `grade` is how grave it is called, as the finding itself has it where that is "".
    """
    if file.geometry is None or finding.at is None:
        return None
    size = finding.size or (file.sizes[0] if file.sizes else "")
    pieces = pieces_in(file, size)
    grade = grade or finding.severity.value
    found = _stretch(file, finding, size, pieces)
    if found is not None:
        name, runs = found
        longest = most(runs, key=lambda run: run.length)
        slash = _slash(finding, pieces[name], runs)
        return name, Marked(longest.point(longest.length / 2), grade, runs, slash, ought=_ought(finding, name))
    nearest = _nearest(finding, pieces)
    if nearest is None:
        return None
    return nearest, Marked(finding.at, grade, bend=_bend(finding, pieces[nearest]), ought=_ought(finding, nearest))


def _ought(finding: Finding, name: str) -> tuple[Curve, ...]:
    return () if finding.recipe is None else tuple(curve for piece, curve in finding.recipe.lines if piece == name)


def _nearest(finding: Finding, pieces: dict[str, Piece]) -> str | None:
    """Of the pieces that a finding names, also by their edges, the one whose outline is nearest to its place."""
    names = finding.pieces or tuple(dict.fromkeys(edge.lstrip("-").partition(".")[0] for edge in finding.edges))
    named = [name for name in names if name in pieces]
    at = finding.at
    if at is None or len(named) < 2:
        return named[0] if named else None
    return min(named, key=lambda name: round(pieces[name].outline.nearest(at).distance, 6))


# The stretch


def _stretch(
    file: FileResult, finding: Finding, size: str, pieces: dict[str, Piece]
) -> tuple[str, tuple[Curve, ...]] | None:
    """The piece and the parts of its edges in which the two sides of a seam differ in length."""
    walk = _walk(file, finding, size)
    if walk is None:
        return None
    first, second = walk.seam.first, walk.seam.second
    recipe = finding.recipe.pieces if finding.recipe is not None else ()
    altered = str(finding.facts.get("altered", ""))
    nearest = _nearest(finding, pieces) or ""
    for name in (*recipe, altered, nearest):
        for side, number in ((first, 0), (second, 1)):
            if name in side.pieces:
                runs = tuple(_runs(side, name, _differing(walk, finding, number)))
                if runs:
                    return name, runs
    return None


def _walk(file: FileResult, finding: Finding, size: str) -> Walk | None:
    """The walk that a finding of length is of; None where it is about something else."""
    if finding.seam is None or "difference" not in finding.facts or file.geometry is None:
        return None
    for told, walk in zip(file.seams, file.geometry.walks, strict=True):
        if (told.name, told.size) == (finding.seam, size) and not walk.seam.twin:
            return walk
    return None


def _differing(walk: Walk, finding: Finding, side: int) -> list[tuple[float, float]]:
    """From where to where a side differs: what the finding's own place lies in, or all that is off by much; else the whole."""
    knots = [0.0, *((match.first, match.second)[side].station for match in walk.matches)]
    knots.append((walk.seam.first, walk.seam.second)[side].length)
    spans = list(zip(walk.spans, pairwise(knots), strict=True))
    own = [ends for span, ends in spans if span.at == finding.at and finding.check != "seam-length"]
    limit = max((finding.tolerance or 0.0) / 2, 0.05)
    return own or [ends for span, ends in spans if abs(span.deviation) > limit] or [(knots[0], knots[-1])]


def _runs(side: Side, piece: str, stretches: Sequence[tuple[float, float]]) -> Iterator[Curve]:
    """The lines of a piece between some stations of a side."""
    for use, edge, offset in zip(side.uses, side.edges, side.offsets, strict=True):
        if use.piece != piece:
            continue
        for low, high in stretches:
            a, b = max(low - offset, 0.0), min(high - offset, edge.length)
            if b - a > SHORT:
                yield from _between(edge, *((edge.length - b, edge.length - a) if use.backwards else (a, b)))


def _between(edge: Edge, low: float, high: float) -> Iterator[Curve]:
    """The lines of an edge between two stations along it."""
    begin = 0.0
    for run, length in zip(edge.runs, edge.run_lengths, strict=True):
        a, b = max(low - begin, 0.0), min(high - begin, length)
        if b - a > SHORT:
            yield run.between(a / edge.smoothing, b / edge.smoothing)
        begin += length


# The slash


def _slash(finding: Finding, piece: Piece, stretch: Sequence[Curve]) -> tuple[complex, complex] | None:
    """From the hinge of a presumed slash to where it was opened: through the bend of a grain arrow, else the shortest way."""
    undo = finding.facts.get("undo")
    hinge = _hinge(undo, piece) if isinstance(undo, Phrase) else None
    if hinge is None:
        return None
    reach = FAR * piece.outline.length
    for grain in piece.grainlines:
        for bend in grain.points[1:-1]:
            along = bend - hinge
            if abs(along) > SHORT:
                way = Curve.line(hinge, hinge + along / abs(along) * reach)
                met = [run.point(on) for run in stretch for on, _ in run.crossings(way)]
                if met:
                    return hinge, least(met, key=lambda at: abs(at - hinge))
    each = [run.point(run.nearest(hinge).station) for run in stretch]
    return hinge, least(each, key=lambda at: abs(at - hinge))


def _hinge(undo: Phrase, piece: Piece) -> complex | None:
    """The place of a hinge, which is told by its distance from an end of its edge."""
    facts = dict(undo.facts)
    where = facts.get("where")
    told = dict(where.facts) if isinstance(where, Phrase) else {}
    distance, end = told.get("distance"), str(told.get("end", ""))
    for edge in piece.edges:
        if f"{piece.name}.{edge.name}" == facts.get("edge") and isinstance(distance, Length):
            return edge.point(distance if end == edge.start else edge.length - distance)
    return None


# A bend


def _bend(finding: Finding, piece: Piece) -> Bend | None:
    """The kink that a finding is of; None where it is of none."""
    at = finding.at
    turn = finding.facts.get("turn", finding.facts.get("bend"))
    if at is None or not isinstance(turn, Angle):
        return None
    if "edge" in finding.facts:
        lines = [
            run for edge in piece.edges if f"{piece.name}.{edge.name}" == finding.facts["edge"] for run in edge.runs
        ]
    else:
        lines = [Curve.polyline(grain.points) for grain in piece.grainlines if len(grain.points) > 2]
    near = [(line.nearest(at), line) for line in lines]
    if not near:
        return None
    on, line = min(near, key=lambda one: round(one[0].distance, 6))
    before, behind = (
        line.between(max(on.station - ARM, 0.0), on.station),
        line.between(on.station, min(on.station + ARM, line.length)),
    )
    if on.distance > 1.0 or min(before.length, behind.length) < 1.0:
        return None
    return Bend(turn, before, behind)


def turned(bend: Bend) -> float:
    """By how many degrees a bend turns, with its sign in the file's axes.

    A traced line has its bend in no one vertex: there the way it turns over some length tells the sign.
    """
    at = _turn(bend.before.tangent(bend.before.length, side=-1), bend.behind.tangent(0.0))
    if abs(abs(at) - bend.turn) > bend.turn / 4:
        at = _turn(bend.behind.start - bend.before.start, bend.behind.end - bend.behind.start)
    return math.copysign(bend.turn, at)


def _turn(into: complex, out: complex) -> float:
    along = out * into.conjugate()
    return math.degrees(math.atan2(along.imag, along.real))


# A new line


def leaving(lines: Sequence[Curve], outline: Curve, least: float) -> Iterator[Curve]:
    """The parts of new lines that lie off an outline by so many mm, found by trying places along them: they are only shown."""
    for line in lines:
        stations = [line.length * k / TRIED for k in range(TRIED + 1)]
        off = [outline.nearest(line.point(station)).distance > least for station in stations]
        for is_off, group in groupby(range(TRIED + 1), key=off.__getitem__):
            if is_off:
                places = list(group)
                a, b = stations[max(places[0] - 1, 0)], stations[min(places[-1] + 1, TRIED)]
                yield line.between(a, b)


def farthest_off(lines: Sequence[Curve], outline: Curve) -> tuple[complex, float] | None:
    """Where new lines lie farthest off an outline, and by how many mm, of places tried along them; None without lines."""
    places = [line.point(line.length * k / TRIED) for line in lines for k in range(TRIED + 1)]
    each = [(place, outline.nearest(place).distance) for place in places]
    return most(each, key=lambda one: one[1]) if each else None


def around(line: Curve, at: complex, reach: float) -> Iterator[Curve]:
    """The part of a line within a circle round a place, if it comes there."""
    near = line.nearest(at)
    arm = reach - near.distance
    a, b = max(near.station - arm, 0.0), min(near.station + arm, line.length)
    if b - a > SHORT:
        yield line.between(a, b)
