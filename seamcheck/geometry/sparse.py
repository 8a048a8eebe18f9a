"""Curves that were drawn with few vertices: straight lines of 12 to 40 mm that a person meant as a curve.

A polygon is not one: its corners turn by 30 degrees or more, or too few of them follow each other. In a sparse curve three
vertices or more turn to one side, and none turns by much more, or much less, than those beside it. Its direction is that of the
spline through its vertices; where it runs into a line that goes on about as the spline does, both go on as one.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from seamcheck.exact import EXACT, snapped
from seamcheck.geometry.curve import Curve
from seamcheck.geometry.end_directions import straight
from seamcheck.geometry.exact_arrays import median_of, snapped_all
from seamcheck.geometry.short_arrays import rolled

Reals = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

LONGEST = 40.0  # mm: a longer line is ruled
SHORTEST = 2.0  # mm: a shorter one is a crumb, or a row of chords
USUAL = 12.0  # mm: the chords of a row that is usually closer are judged as those of a digitised line
UNLIKE = 2.5  # times the line beside it: so much longer a line is ruled
SHARP = 30.0  # degrees: a vertex that turns so much is a corner
FEWEST = 3  # vertices that turn to one side ...
LEAST_TURN = 1.5  # degrees: ... each by so much
MANY = 6  # or so many vertices ...
BENT = 10.0  # degrees: ... that turn by so much in all
EVEN = 2.0  # times what the vertices beside it turn for the same length of line ...
BESIDE = 0.6  # mm: ... and as much more as a vertex turns that a hand put so far beside its place
LEAST_KNOWN = 3.0  # degrees: nobody draws the end of a sparse curve more surely
UNKNOWN = 0.25  # of what the vertex next to its end turns: so well the direction of a sparse curve is known there
LAP = 12  # vertices by which the spline round a closed curve is run on over its ends


class CoarseEnd(NamedTuple):
    """Where a sparse curve ends, and by how many degrees its direction may be off there."""

    at: complex
    uncertainty: float


class Smoothed(NamedTuple):
    """An outline with splines for its sparse curves: how many those are, and the greatest distance of their vertices in mm.

    `ends` are those that do not run on into the line beside them.
    """

    curve: Curve
    curves: int
    apart: float
    ends: tuple[CoarseEnd, ...]


def smoothed(curve: Curve, rows: Sequence[tuple[int, int]]) -> Smoothed | None:
    """A closed outline with splines for its sparse curves, as `sparse_rows` tells them; None where it has none."""
    if not rows:
        return None
    count = len(curve.segments)
    chords = np.abs(curve.segments[:, 3] - curve.segments[:, 0])
    if list(rows) == [(0, count)]:
        return Smoothed(closed_spline(curve.segments[:, 0].tolist()), 1, snapped(float(chords.max())), ())
    segments = curve.segments.copy()
    apart, ends = 0.0, []
    for first, last in rows:
        at = np.arange(first, last) % count
        spline = Curve.through(np.append(curve.segments[at, 0], curve.segments[at[-1], 3])).segments.copy()
        turns = np.abs(_turns(spline[:, 3] - spline[:, 0]))
        before, behind = curve.segments[(first - 1) % count], curve.segments[last % count]
        first_end, last_end = (
            CoarseEnd(complex(spline[k, k]), max(LEAST_KNOWN, float(turns[k]) * UNKNOWN)) for k in (0, -1)
        )
        for end, row, handle, heading in ((first_end, 0, 1, _end(before)), (last_end, -1, 2, -_start(behind))):
            leg = complex(spline[row, handle] - end.at)
            if snapped(abs(float(np.degrees(np.angle(leg / heading))))) <= end.uncertainty + EXACT:
                spline[row, handle] = end.at + abs(leg) * heading
            else:
                ends.append(end)
        segments[at] = spline
        apart = max(apart, float(chords[at].max()))
    return Smoothed(Curve(segments), len(rows), snapped(apart), tuple(ends))


def sparse_rows(curve: Curve) -> list[tuple[int, int]]:
    """Which segments of a closed outline, from the first up to but not including the last, are sparse curves.

    A row may run over the end of the outline: its numbers then go on beyond the count of segments.
    """
    count = len(curve.segments)
    chords = snapped_all(np.abs(curve.segments[:, 3] - curve.segments[:, 0]))
    short = straight(curve.segments) & (chords <= LONGEST + EXACT) & (chords >= SHORTEST - EXACT)
    if count <= FEWEST or np.count_nonzero(short) <= FEWEST:
        return []
    # Of the vertex between each segment and the next: the turn, and whether the line may bend on there.
    turns, following = np.asarray(curve.joint_turns()), rolled(chords)
    alike = (chords <= UNLIKE * following + EXACT) & (following <= UNLIKE * chords + EXACT)
    bends = short & rolled(short) & alike & (np.abs(turns) < SHARP - EXACT)
    upset = np.degrees(BESIDE * (1.0 / np.maximum(chords, SHORTEST) + 1.0 / np.maximum(following, SHORTEST)))
    bends &= _even(turns, (chords + following) / 2, upset, bends)
    found = []
    for first, last in _rings(bends):
        of_row = np.arange(first, last) % count
        around = np.arange(first, last + 1) % count if last - first < count else of_row
        if _is_curve(turns[of_row]) and median_of(chords[around]) > USUAL + EXACT:
            found.append((first, first + len(around)))
    return [(0, count)] if len(found) == 1 and found[0][1] - found[0][0] == count and bends.all() else found


def closed_spline(points: Sequence[complex]) -> Curve:
    """A spline round a closed line without corners: run on over both ends, so that it closes smoothly."""
    count = len(points)
    lap = min(count, LAP)
    wrapped = [*points[-lap:], *points, *points[: lap + 1]]
    curve = Curve.through(wrapped)
    segments = curve.segments[lap : lap + count].copy()
    segments[-1, 3] = segments[0, 0]
    return Curve(segments)


def _even(turns: Reals, lengths: Reals, upset: Reals, bends: Flags) -> Flags:
    """Which vertices turn neither much more nor much less than those beside them that bend, for the same length of line.

    `upset` is by how many degrees a hand may have turned each.
    """
    expected = [np.where(np.roll(bends, way), np.roll(turns / lengths, way) * lengths, np.nan) for way in (1, -1)]
    low, high = (np.nan_to_num(most(*expected)) for most in (np.fmin, np.fmax))
    least = np.where(low > 0.0, low / EVEN, low * EVEN) - upset
    most = np.where(high > 0.0, high * EVEN, high / EVEN) + upset
    return np.asarray((turns - least >= -EXACT) & (most - turns >= -EXACT))


def _rings(flags: Flags) -> list[tuple[int, int]]:
    """Where a ring of flags is set, from the first up to but not including the last; the last may lie beyond the end."""
    count = len(flags)
    if flags.all():
        return [(0, count)]
    starts = np.flatnonzero(flags & ~np.roll(flags, 1))
    return [(int(k), int(k) + int(np.argmin(np.roll(flags, -k)))) for k in starts]


def _is_curve(turns: Reals) -> bool:
    """Whether enough vertices turn to one side in a row, or so many by so much in all that a hand may have upset the row."""
    return _most_in_a_row(turns) >= FEWEST or (len(turns) >= MANY and abs(float(turns.sum())) >= BENT - EXACT)


def _most_in_a_row(turns: Reals) -> int:
    """How many vertices in a row turn to one side at most."""
    most = here = 0
    before = 0.0
    for turn in turns.tolist():
        here = 0 if abs(turn) < LEAST_TURN - EXACT else here + 1 if turn * before > 0.0 else 1
        before = turn if here else 0.0
        most = max(most, here)
    return most


def _turns(steps: npt.NDArray[np.complex128]) -> Reals:
    return snapped_all(np.degrees(np.angle(steps[1:] / steps[:-1])))


def _start(segment: npt.NDArray[np.complex128]) -> complex:
    """The unit direction in which a segment starts."""
    return complex(Curve(segment[None]).tangent(0.0, side=+1))


def _end(segment: npt.NDArray[np.complex128]) -> complex:
    """The unit direction in which a segment ends."""
    return -_start(segment[::-1])
