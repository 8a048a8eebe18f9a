"""Where a line may be parted though no notch says so: where another ends that is sewn along part of it.

Told by notches that stand alike from a corner; by a pocket that is as long as from a notch to there; by a fly facing or shield
whose long edge is as long as the opening of a curved seam such as the front crotch; by a gusset that is let in where two like
lines end; by two lines that together are as long as it is; by another that is about half as long, at the middle of a line that
is its own mirror image.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from seamcheck.pairing.lines import Line

ALIKE = 1.2  # mm by which notches may stand differently from the corner
SUM = 0.3  # mm by which two lines may differ from a third
SHORTEST = 25.0  # mm of a line, and of what is left
NEAR = 6.0  # mm: no two places stand closer
MOST = 3  # places on a line
MOST_MOUTHS = 8  # and on one in which a pocket may lie
MOUTH = (100.0, 220.0)  # mm of the mouth of a pocket, which takes a hand (common practice, no source)
OPEN_MOST = 0.6  # share of a seam that the mouth takes at most
BELOW = 40.0  # mm from the waist to the mouth of a pocket in a seam that nothing marks (common practice, no source)
LIKE = 1.6  # mm by which lines may differ that are sewn together beside what is let in
HALF = 0.13  # share by which another may differ from half a line
CURVED = 25.0  # degrees that the seam turns in which a fly is
OPEN = (0.3, 0.85)  # share of it that is open


@dataclass(frozen=True, slots=True)
class Telling:
    """The pieces whose words tell what is let in or lies behind a seam, and the `bodies` in whose seams a pocket may lie."""

    bodies: frozenset[int] = frozenset()
    plackets: frozenset[int] = frozenset()
    pockets: frozenset[int] = frozenset()
    gussets: frozenset[int] = frozenset()


def cuts(
    lines: Sequence[Line], either_way: frozenset[int], telling: Telling | None = None
) -> Mapping[int, tuple[float, ...]]:
    """The stations in mm at which some lines may be parted, by line; lines in `either_way` are parted alike from both ends."""
    telling = telling or Telling()
    found = {}
    open_lines = [line for line in lines if not line.fold and not line.closed and line.length > SHORTEST]
    for line in open_lines:
        if line.darts or line.length < 2.0 * SHORTEST:
            continue
        rest = [one for one in open_lines if one.piece != line.piece]
        others = [one for one in rest if one.length < line.length - SHORTEST]
        like = [one for one in open_lines if one is not line and abs(one.length - line.length) < LIKE]
        places = _by_notches(line, others)
        mouths = []
        if line.piece in telling.bodies:
            mouths = _by_mouth(
                line,
                [one for one in like if one.piece != line.piece],
                [one for one in others if one.piece in telling.pockets],
            )
        if line.piece not in telling.plackets:
            places += _by_opening(line, [one for one in others if one.piece in telling.plackets])
        if line.piece not in telling.gussets:
            places += _by_gusset(line, like, [one for one in others if one.piece in telling.gussets])
        places += _by_sums(line, others)
        if line.index in either_way:
            places += _by_halves(line, rest)
        either = line.index in either_way
        most = MOST_MOUTHS if mouths else MOST
        if kept := told_apart(line, mouths + places, either_way=either, most=most):
            found[line.index] = kept
    return found


def told_apart(line: Line, places: Sequence[float], *, either_way: bool, most: int) -> tuple[float, ...]:
    """The first few of some places on a line that stand apart from each other, from its notches and from its ends, in order."""
    kept = list(line.cuts)
    for place in places:
        for at in (place, line.length - place) if either_way else (place,):
            taken = [0.0, line.length, *kept, *(station for station, _ in line.notches)]
            if len(kept) < most and all(abs(at - other) > NEAR for other in taken):
                kept.append(at)
    if either_way and any(_away(line.length - at, kept) for at in kept):
        return line.cuts  # no room for a place at both ends
    return tuple(sorted(kept))


def _away(at: float, places: Sequence[float]) -> bool:
    return all(abs(at - other) > 1e-6 for other in places)


def _by_notches(line: Line, others: Sequence[Line]) -> list[float]:
    """Where others end whose notches stand as far from their corner as this line's from one of its own; most notches first."""
    own = {False: line.notches, True: tuple((line.length - at, count) for at, count in reversed(line.notches))}
    found: list[tuple[int, float]] = []
    for one in others:
        theirs = (one.notches, tuple((one.length - at, count) for at, count in reversed(one.notches)))
        for back, mine in own.items():
            within = [row for row in mine if row[0] < one.length - ALIKE]
            if within and any(_match(within, row) for row in theirs):
                found.append((-len(within), line.length - one.length if back else one.length))
    return [at for _, at in sorted(found)]


def _match(mine: Sequence[tuple[float, int]], theirs: Sequence[tuple[float, int]]) -> bool:
    return len(mine) == len(theirs) and all(
        abs(a - b) < ALIKE and n == m for (a, n), (b, m) in zip(mine, theirs, strict=True)
    )


def _by_sums(line: Line, others: Sequence[Line]) -> list[float]:
    """Where two others meet that together are as long as a line, the closest first; either may come first."""
    order = sorted(others, key=lambda one: (one.length, one.index))
    found: list[tuple[float, float]] = []
    low, high = 0, len(order) - 1
    while low < high:
        off = order[low].length + order[high].length - line.length
        if abs(off) < SUM:
            found += [(round(abs(off), 6), order[low].length), (round(abs(off), 6), line.length - order[low].length)]
        low, high = (low + 1, high) if off < 0 else (low, high - 1)
    return [at for _, at in sorted(found)]


def _by_opening(line: Line, facings: Sequence[Line]) -> list[float]:
    """Where an opening of a curved seam ends that is as long as the edge of a facing; the straightest edge of each first."""
    if abs(line.bend) < CURVED:
        return []
    fit = [one for one in facings if OPEN[0] * line.length < one.length < OPEN[1] * line.length]
    order = sorted(fit, key=lambda one: (round(abs(one.bend), 3), one.index))
    return [at for one in order for at in (one.length, line.length - one.length)]


def _by_mouth(line: Line, like: Sequence[Line], pockets: Sequence[Line]) -> list[float]:
    """Where the mouth of a pocket begins and ends, which may be sewn in from a corner to its notch.

    At one of its ends is a notch; where none fits it is looked for below either end of one of two like lines.
    """
    widths = []
    for piece in dict.fromkeys(one.piece for one in pockets):
        own = [one for one in pockets if one.piece == piece]
        parts = [width for one in own for at, _ in one.notches for width in (at, one.length - at)]
        fit = [
            [width for width in some if MOUTH[0] < width < MOUTH[1]] for some in ([one.length for one in own], parts)
        ]
        widths += fit[0] or fit[1]
    widths = [width for width in dict.fromkeys(widths) if width < OPEN_MOST * line.length]
    stations = [at for at, _ in line.notches]
    if any(abs(b - a - width) < LIKE for a, b in combinations(stations, 2) for width in widths):
        return []  # both its ends have notches
    places = [at + way * width for width in widths for at in stations for way in (-1.0, 1.0)]
    if like:
        mouths = [at for width in widths for at in (BELOW, BELOW + width)]
        places += [place for at in mouths for place in (at, line.length - at)]
    return [at for at in places if NEAR < at < line.length - NEAR]


def _by_gusset(line: Line, like: Sequence[Line], gussets: Sequence[Line]) -> list[float]:
    """Where a gusset begins that is let in at either end of a line and of one like it."""
    if not like:
        return []
    order = sorted(gussets, key=lambda one: (one.length, one.index))
    return [at for one in order for at in (one.length, line.length - one.length)]


def _by_halves(line: Line, others: Sequence[Line]) -> list[float]:
    """The middle, where another is about half as long."""
    half = line.length / 2.0
    return [half] if any(abs(one.length - half) < HALF * one.length for one in others) else []
