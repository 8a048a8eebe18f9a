"""In which direction a line leaves its end, and how surely.

A drawn curve has a tangent there. A digitised line has only chords, and the first chord of a bent line points
beside the curve it stands for (by half of what it turns): there the direction is that of the curve which the chords sample
(`smoothing`), with the uncertainty that their noise leaves. At a corner that was rounded off, the directions of both lines are
those that they had before.
"""

from __future__ import annotations

from cmath import exp, phase
from collections.abc import Sequence
from math import copysign, degrees
from typing import NamedTuple

import numpy as np

from seamcheck.exact import root_of_squares, snapped
from seamcheck.geometry.bezier import Row, part_of
from seamcheck.geometry.curve import Curve
from seamcheck.geometry.exact_arrays import median_of, most_at, snapped_all
from seamcheck.geometry.kept import kept
from seamcheck.geometry.short_arrays import differences, in_parts, largest
from seamcheck.geometry.smoothing import (
    LEAST_CHORDS,
    LEAST_NOISE,
    TELLING,
    Asked,
    Direction,
    direction_at,
    directions_of,
    noise_of,
    noises_of,
)

SHORT_CHORD = 6.0  # mm: straight segments up to this long, in a row, are taken for a digitised curve
LONGEST_CHORD = 8.0  # mm: by a hand that spaces them unevenly, in a longer row
REACH = 12.0  # mm of line that must be short chords
FEWEST = 4  # vertices that a curve can be told from
CUT = 0.25  # of the next chord: a first one that is shorter is what a cut left of one
BOTH = 0.04  # of the whole turn that a rounding takes on either side at least
CORNER_TURN = 40.0  # degrees: a row of chords ends where it turns by so much ...
CORNER_REACH = 4.0  # mm: ... within so much of it on either side
MOST = 200  # vertices that tell the noise of a line
TOGETHER = 1 << 14  # segments of lines at corners that are looked at together
ROUNDED = 8.0  # mm on either side of a corner that a rounding may take up
CRUMB = 1e-3  # mm
ROUND_TURN = 25.0  # degrees: what a rounding turns at least
SURE = 2.0  # standard errors: what is told of an angle is right to so many of them


class CornerAngle(NamedTuple):
    """The angle of piece at a corner, and by how much it may be off because the lines are noisy chords; in degrees."""

    degrees: float
    uncertainty: float


class AtCorner(NamedTuple):
    """The unit directions in which one line arrives at a corner and the next leaves it, and by how many degrees their angle may be off."""

    before: complex
    after: complex
    uncertainty: float


def leaving(curve: Curve) -> complex:
    """The unit direction in which a curve leaves its start."""
    curve = _without_crumbs(curve)
    vertices = digitised_start(curve)
    return _start(curve) if vertices is None else direction_at(vertices, noise_of(vertices)).heading


def arriving(curve: Curve) -> complex:
    """The unit direction in which a curve arrives at its end."""
    return -leaving(curve.reversed())


def at_corner(coming: Curve, going: Curve) -> tuple[complex, complex]:
    """The unit directions in which one curve arrives at a corner and the next leaves it."""
    return directions_at([(coming, going)])[0][:2]


def directions_at(corners: Sequence[tuple[Curve, Curve]], noises: Sequence[float] | None = None) -> list[AtCorner]:
    """The unit directions in which at each corner one curve arrives and the next leaves, and how surely.

    Where the corner is rounded, so that hardly anything turns in the very point, both are taken from beyond the
    rounding and carried on to the corner as the curves bend there. Both were drawn by one hand: the one that shows more noise
    tells that of both; where both are too short to show any, `noises` tells that of the hand, in mm.
    """
    sizes = (len(coming.segments) + len(going.segments) for coming, going in corners)
    hands = list(zip(corners, noises or [0.0] * len(corners), strict=True))
    return [found for some in in_parts(hands, sizes, TOGETHER) for found in _directions_at(some)]


def _directions_at(hands: Sequence[tuple[tuple[Curve, Curve], float]]) -> list[AtCorner]:
    """The same of so many corners that the curves there, run the other way, take little memory."""
    corners = [corner for corner, _ in hands]
    lines = [_without_crumbs(line) for coming, going in corners for line in (coming.reversed(), going)]
    rows = [digitised_start(line) for line in lines]
    tell = [row is not None and len(row) > TELLING for row in rows]
    own = [max(pair) for pair in zip(*[iter(_noises(rows))] * 2, strict=True)]
    noises = [
        noise
        for k, (mine, (_, hand)) in enumerate(zip(own, hands, strict=True))
        for noise in (mine if any(tell[2 * k : 2 * k + 2]) else max(mine, hand),) * 2
    ]
    plain = _leaving(lines, rows, noises)
    long = [k for k in range(0, len(lines), 2) if min(lines[k].length, lines[k + 1].length) >= 2 * ROUNDED]
    both = [k for first in long for k in (first, first + 1)]
    beyond = dict(zip(both, _leaving_beyond([lines[k] for k in both], [noises[k] for k in both]), strict=True))
    found = []
    for k in range(0, len(lines), 2):
        coming, going = plain[k], plain[k + 1]
        if k in beyond and _is_rounded(lines[k : k + 2], (beyond[k], beyond[k + 1]), noises[k]):
            coming, going = beyond[k], beyond[k + 1]
        unsure = SURE * root_of_squares((coming.error, going.error))
        found.append(AtCorner(-coming.heading, going.heading, unsure))
    return found


def along_at(curve: Curve, station: float) -> Direction | None:
    """The unit direction at a station of the curve that chords sample there, with its standard error; None where no row of them is."""
    index, _ = curve.locate(station)
    low = max(index - MOST // 2, 0)
    segments = curve.segments[low : index + MOST // 2]
    chords, index = _chords(segments)[1], index - low
    if not chords[index]:
        return None
    before = int(np.argmin(np.append(chords[index::-1], False))) - 1
    after = int(np.argmin(np.append(chords[index:], False)))
    if before + after < LEAST_CHORDS:
        return None
    row = segments[index - before : index + after]
    vertices = np.append(row[:, 0], row[-1, 3])
    last = before + to_corner(vertices[before:])
    first = before + 2 - to_corner(vertices[before + 1 :: -1])
    vertices = vertices[first:last]
    if len(vertices) <= LEAST_CHORDS:
        return None
    into = station - float(curve.joint_stations[low + index])
    along = float(np.abs(differences(vertices[: before - first + 1])).sum())
    return direction_at(vertices, noise_of(vertices), along + into)


def _is_chord(row: Row) -> bool:
    """Whether a segment is straight and short enough for a chord: what drawn curves are asked first, since it costs little."""
    a, b, c, d = row
    chord = d - a
    size, along = abs(chord), chord.conjugate()
    off = max(abs(((b - a) * along).imag), abs(((c - a) * along).imag))
    return 0.0 < snapped(size) <= LONGEST_CHORD and off <= 1e-9 * size**2 + 1e-15


def _chords(segments: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """How far apart the ends of each segment are, and which are straight, and short enough for the chords of a digitised curve."""
    chords = segments[:, 3] - segments[:, 0]
    lengths = snapped_all(np.abs(chords))
    return lengths, np.asarray(straight(segments, chords) & (lengths <= LONGEST_CHORD) & (lengths > 0.0))


def _without_crumbs(curve: Curve) -> Curve:
    """The curve without what a cut left at its start: so short a segment points anywhere."""
    a, b, c, d = curve.segments[0].tolist()
    if max(abs(b - a), abs(c - b), abs(d - c)) >= CRUMB:
        return curve
    sized = largest(np.abs(differences(curve.segments))) >= CRUMB
    return Curve(curve.segments[int(sized.argmax()) :]) if sized.any() else curve


def _turn(before: complex, after: complex) -> float:
    return snapped(degrees(phase(after / before)))


def _is_rounded(lines: Sequence[Curve], beyond: tuple[Direction, Direction], noise: float) -> bool:
    """Whether a corner was rounded off: much of what two lines that leave it turn, as seen from `beyond`, is not turned in the point.

    A rounding is told from a line that bends ever more towards its end, or that was led on straight past a bent one, by what it takes
    on both sides. Noise may turn the first chords.
    """
    whole = _turn(-beyond[0].heading, beyond[1].heading)
    if abs(whole) < ROUND_TURN:
        return False
    first, last = -_start(lines[0]), _start(lines[1])
    sharp = abs(_turn(first, last)) + SURE * root_of_squares(_chord_error(line, noise) for line in lines)
    way = copysign(1.0, whole)
    taken = min(_turn(-beyond[0].heading, first) * way, _turn(last, beyond[1].heading) * way)
    return sharp < 0.9 * abs(whole) and taken >= BOTH * abs(whole)


def _chord_error(line: Curve, noise: float) -> float:
    """By how many degrees noise turns the straight line that a curve begins with; 0 where nothing shows any, or it is bent."""
    if noise <= LEAST_NOISE or not straight(line.segments[:1])[0]:
        return 0.0
    return float(np.degrees(2**0.5 * noise / abs(line.segments[0, 3] - line.segments[0, 0])))


def _noises(rows: Sequence[np.ndarray | None]) -> list[float]:
    """The noise of rows of vertices in mm; 0 without any."""
    told = iter(noises_of([row for row in rows if row is not None]))
    return [0.0 if row is None else next(told) for row in rows]


def _leaving(lines: Sequence[Curve], rows: Sequence[np.ndarray | None], noises: Sequence[float]) -> list[Direction]:
    """The directions at the starts of curves, of which the rows of chords that they begin with are given, if they do."""
    asked = [Asked(row, noise) for row, noise in zip(rows, noises, strict=True) if row is not None]
    told = iter(directions_of(asked))
    return [
        Direction(_start(line), _chord_error(line, noise)) if row is None else next(told)
        for line, row, noise in zip(lines, rows, noises, strict=True)
    ]


def _leaving_beyond(lines: Sequence[Curve], noises: Sequence[float]) -> list[Direction]:
    """The directions at the starts of curves as they would be without the rounding there."""
    found = [_drawn_beyond(line) if noise <= LEAST_NOISE else None for line, noise in zip(lines, noises, strict=True)]
    rest = [k for k, one in enumerate(found) if one is None]
    rests = [_without_crumbs(lines[k].between(ROUNDED, lines[k].length)) for k in rest]
    rows = [digitised_start(line) for line in rests]
    noises = [max(noises[k], noise) for k, noise in zip(rest, _noises(rows), strict=True)]
    asked = [Asked(row, noise, before=ROUNDED) for row, noise in zip(rows, noises, strict=True) if row is not None]
    told = iter(directions_of(asked))
    for k, line, row, noise in zip(rest, rests, rows, noises, strict=True):
        if row is not None:
            found[k] = next(told)
        else:
            heading, bend = line.tangent(0.0), line.curvature(0.0)
            found[k] = Direction(complex(heading * np.exp(-1j * bend * ROUNDED)), _chord_error(line, noise))
    return [one for one in found if one is not None]


def _drawn_beyond(curve: Curve) -> Direction | None:
    """The same of one curve that is drawn there with more than chords; None where its segment alone does not tell."""
    index, t = curve.locate(ROUNDED)
    row = part_of(curve.segments[index].tolist(), t, 1.0)
    step = _first_step(row)
    if step is None or _is_chord(row):
        return None
    bend = 2 / 3 * (step.conjugate() * (row[2] - row[1] - step)).imag / abs(step) ** 3
    return Direction(step / abs(step) * exp(-1j * bend * ROUNDED), 0.0)


def _start(curve: Curve) -> complex:
    """The unit direction in which a curve is drawn from its start."""
    step = _first_step(curve.segments[0].tolist())
    return curve.tangent(0.0) if step is None else step / abs(step)


def _first_step(row: Row) -> complex | None:
    """The first step of a segment, if it is long enough to tell which way the segment leaves."""
    a, b, c, d = row
    return b - a if abs(b - a) >= CRUMB * max(1.0, abs(c - b), abs(d - c)) else None


def digitised_start(curve: Curve) -> np.ndarray | None:
    """The vertices of the row of short chords that a curve begins with, MOST at the most; None where it begins otherwise."""
    if not _is_chord(curve.segments[0].tolist()):
        return None
    segments = curve.segments[:MOST]
    lengths, chords = _chords(segments)
    row = int(np.argmin(chords)) if not chords.all() else len(chords)
    first = max(int(np.searchsorted(np.cumsum(lengths), REACH, side="right")), FEWEST - 1)
    first = min(first, len(lengths))
    if first < FEWEST - 1 or row < first or (row < LEAST_CHORDS and np.any(lengths[:first] > SHORT_CHORD)):
        return None
    vertices = np.concatenate([segments[:1, 0], segments[:row, 3]])
    if row >= FEWEST and lengths[0] < CUT * lengths[1]:
        # The line begins within a chord, just before a vertex: what lies between the two tells no direction.
        vertices = np.delete(vertices, 1)
    return vertices[: to_corner(vertices)]


def to_corner(vertices: np.ndarray) -> int:
    """How many vertices there are up to and with the first corner, where the line turns much within a few mm."""
    reach = max(round(CORNER_REACH / median_of(np.abs(differences(vertices)))), 1)
    ahead, behind = vertices[2 * reach :] - vertices[reach:-reach], vertices[reach:-reach] - vertices[: -2 * reach]
    turns = snapped_all(np.abs(np.degrees(np.angle(ahead * np.conj(behind)))))
    sharp = np.flatnonzero(turns >= CORNER_TURN)
    sharp = sharp[sharp + reach + 1 >= FEWEST]
    if not sharp.size:
        return len(vertices)
    # Its neighbours within reach turn by part of it, too.
    near = turns[sharp[0] : sharp[0] + reach + 1]
    return int(sharp[0]) + most_at(near) + reach + 1


def straight(segments: np.ndarray, chords: np.ndarray | None = None) -> np.ndarray:
    """Which segments (n, 4) are straight lines: handles on the chord within 1e-9 of its length; `chords` where they are known."""
    chord = segments[:, 3] - segments[:, 0] if chords is None else chords
    size = np.abs(chord)
    off = largest(np.abs(((segments[:, 1:3] - segments[:, :1]) * np.conj(chord)[:, None]).imag))
    return np.asarray(off <= 1e-9 * size**2 + 1e-15)


@kept
def ruled(curve: Curve) -> np.ndarray:
    """Which segments of a curve are straight lines."""
    return straight(curve.segments)


def corner_angles(corners: Sequence[tuple[Curve, Curve]], y_down: bool, noise: float = 0.0) -> list[CornerAngle]:
    """The angles of piece between a line that arrives at a corner and the next, on clockwise outlines; `noise` is that of the piece."""
    return [
        CornerAngle(interior_angle(found.before, found.after, y_down), found.uncertainty)
        for found in directions_at(corners, [noise] * len(corners))
    ]


def interior_angle(coming: complex, going: complex, y_down: bool) -> float:
    """Degrees of piece between a line that arrives at a corner and the next, on a clockwise outline."""
    turn = snapped(degrees(phase(going / coming)))
    return 180.0 - (turn if y_down else -turn)
