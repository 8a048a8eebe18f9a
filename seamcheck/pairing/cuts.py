"""Where a line may be parted though no notch says so: where a shorter one ends that is sewn along it from one of its corners.

Told by notches that stand alike from the corner, by two lines that together are as long as it is, or by a fly facing or shield,
whose long edge is as long as the opening of a curved seam such as the front crotch.
"""

from __future__ import annotations

from collections.abc import Container, Mapping, Sequence

from seamcheck.pairing.lines import Line

ALIKE = 1.2  # mm by which notches may stand differently from the corner
SUM = 0.3  # mm by which two lines may differ from a third
SHORTEST = 25.0  # mm of a line, and of what is left
NEAR = 6.0  # mm: no two places stand closer
MOST = 2  # places on a line
CURVED = 25.0  # degrees that the seam turns in which a fly is
OPEN = (0.3, 0.85)  # share of it that is open


def cuts(
    lines: Sequence[Line], either_way: frozenset[int], plackets: Container[int] = ()
) -> Mapping[int, tuple[float, ...]]:
    """The stations in mm at which some lines may be parted, by line.

    Lines in `either_way` are parted alike from both ends; pieces in `plackets` face an opening.
    """
    found = {}
    open_lines = [line for line in lines if not line.fold and not line.closed and line.length > SHORTEST]
    for line in open_lines:
        if line.darts or line.length < 2.0 * SHORTEST:
            continue
        others = [one for one in open_lines if one.piece != line.piece and one.length < line.length - SHORTEST]
        places = _by_notches(line, others) + _by_sums(line, others)
        if line.piece not in plackets:
            places += _by_opening(line, [one for one in others if one.piece in plackets])
        kept: list[float] = []
        for place in places:
            for at in (place, line.length - place) if line.index in either_way else (place,):
                taken = [0.0, line.length, *kept, *(station for station, _ in line.notches)]
                if len(kept) < MOST and all(abs(at - other) > NEAR for other in taken):
                    kept.append(at)
        if line.index in either_way and any(_away(line.length - at, kept) for at in kept):
            continue  # no room for a place at both ends
        if kept:
            found[line.index] = tuple(sorted(kept))
    return found


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
