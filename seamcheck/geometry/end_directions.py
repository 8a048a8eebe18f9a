"""In which direction a line leaves its end, and how surely.

A drawn curve has a tangent there. A digitised line has only chords, and the first chord of a bent line points
beside the curve it stands for (by half of what it turns): there the direction is that of the curve which the chords sample
(`smoothing`), with the uncertainty that their noise leaves. At a corner that was rounded off, the directions of both lines are
those that they had before.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from seamcheck.exact import root_of_squares, snapped
from seamcheck.geometry.bezier import Row
from seamcheck.geometry.curve import Curve
from seamcheck.geometry.exact_arrays import most_at, snapped_all
from seamcheck.geometry.short_arrays import differences, median
from seamcheck.geometry.smoothing import LEAST_CHORDS, LEAST_NOISE, Direction, direction_at, noise_of

SHORT_CHORD = 6.0  # mm: straight segments up to this long, in a row, are taken for a digitised curve
LONGEST_CHORD = 8.0  # mm: by a hand that spaces them unevenly, in a longer row
REACH = 12.0  # mm of line that must be short chords
FEWEST = 4  # vertices that a curve can be told from
CUT = 0.25  # of the next chord: a first one that is shorter is what a cut left of one
BOTH = 0.04  # of the whole turn that a rounding takes on either side at least
CORNER_TURN = 40.0  # degrees: a row of chords ends where it turns by so much ...
CORNER_REACH = 4.0  # mm: ... within so much of it on either side
MOST = 200  # vertices that tell the noise of a line
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
    return _leaving(curve, vertices, _noise(vertices)).heading


def arriving(curve: Curve) -> complex:
    """The unit direction in which a curve arrives at its end."""
    return -leaving(curve.reversed())


def at_corner(coming: Curve, going: Curve) -> tuple[complex, complex]:
    """The unit directions in which one curve arrives at a corner and the next leaves it."""
    return directions_at(coming, going)[:2]


def directions_at(coming: Curve, going: Curve) -> AtCorner:
    """The unit directions in which one curve arrives at a corner and the next leaves it, and how surely.

    Where the corner is rounded, so that hardly anything turns in the very point, both are taken from beyond the
    rounding and carried on to the corner as the curves bend there. Both were drawn by one hand: the one that shows more noise
    tells that of both.
    """
    lines = [_without_crumbs(coming.reversed()), _without_crumbs(going)]
    rows = [digitised_start(line) for line in lines]
    noise = max(map(_noise, rows))
    before, after = (_leaving(line, row, noise) for line, row in zip(lines, rows, strict=True))
    if min(line.length for line in lines) >= 2 * ROUNDED:
        early, late = (_leaving_beyond(line, noise) for line in lines)
        if _is_rounded(lines, (early, late), noise, in_chords=any(row is not None for row in rows)):
            before, after = early, late
    return AtCorner(-before.heading, after.heading, SURE * root_of_squares((before.error, after.error)))


def along_at(curve: Curve, station: float) -> Direction | None:
    """The unit direction at a station of the curve that chords sample there, with its standard error; None where no row of them is."""
    index, _ = curve.locate(station)
    low = max(index - MOST // 2, 0)
    segments = curve.segments[low : index + MOST // 2]
    chords, index = _are_chords(segments), index - low
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


def _are_chords(segments: np.ndarray) -> np.ndarray:
    """Which segments are straight, and short enough for the chords of a digitised curve."""
    lengths = snapped_all(np.abs(segments[:, 3] - segments[:, 0]))
    return np.asarray(straight(segments) & (lengths <= LONGEST_CHORD) & (lengths > 0.0))


def _without_crumbs(curve: Curve) -> Curve:
    """The curve without what a cut left at its start: so short a segment points anywhere."""
    sized = np.abs(differences(curve.segments)).max(axis=1) >= CRUMB
    return Curve(curve.segments[int(sized.argmax()) :]) if sized.any() and not sized[0] else curve


def _turn(before: complex, after: complex) -> float:
    return snapped(float(np.degrees(np.angle(after / before))))


def _is_rounded(lines: list[Curve], beyond: tuple[Direction, Direction], noise: float, *, in_chords: bool) -> bool:
    """Whether a corner was rounded off: much of what two lines that leave it turn, as seen from `beyond`, is not turned in the point.

    In chords a rounding is told from a line that bends ever more towards its end by what it takes on both sides. Noise may turn the
    first chords.
    """
    first, last = -lines[0].tangent(0.0, side=+1), lines[1].tangent(0.0, side=+1)
    whole = _turn(-beyond[0].heading, beyond[1].heading)
    sharp = abs(_turn(first, last)) + SURE * root_of_squares(_chord_error(line, noise) for line in lines)
    taken = min(_turn(-beyond[0].heading, first) * np.sign(whole), _turn(last, beyond[1].heading) * np.sign(whole))
    return abs(whole) >= ROUND_TURN and sharp < 0.9 * abs(whole) and not (in_chords and taken < BOTH * abs(whole))


def _chord_error(line: Curve, noise: float) -> float:
    """By how many degrees noise turns the straight line that a curve begins with; 0 where nothing shows any, or it is bent."""
    if noise <= LEAST_NOISE or not straight(line.segments[:1])[0]:
        return 0.0
    return float(np.degrees(2**0.5 * noise / abs(line.segments[0, 3] - line.segments[0, 0])))


def _noise(vertices: np.ndarray | None) -> float:
    """The noise of a row of vertices in mm; 0 without any."""
    return 0.0 if vertices is None else noise_of(vertices)


def _leaving(curve: Curve, vertices: np.ndarray | None, noise: float) -> Direction:
    if vertices is None:
        return Direction(curve.tangent(0.0, side=+1), _chord_error(curve, noise))
    return direction_at(vertices, noise)


def _leaving_beyond(curve: Curve, noise: float) -> Direction:
    """The direction at the start of a curve as it would be without the rounding there."""
    rest = _without_crumbs(curve.between(ROUNDED, curve.length))
    vertices = digitised_start(rest)
    if vertices is not None:
        return direction_at(vertices, max(noise, _noise(vertices)), before=ROUNDED)
    heading, bend = rest.tangent(0.0, side=+1), rest.curvature(0.0, side=+1)
    return Direction(complex(heading * np.exp(-1j * bend * ROUNDED)), _chord_error(rest, noise))


def digitised_start(curve: Curve) -> np.ndarray | None:
    """The vertices of the row of short chords that a curve begins with, MOST at the most; None where it begins otherwise."""
    if not _is_chord(curve.segments[0].tolist()):
        return None
    segments = curve.segments[:MOST]
    lengths = snapped_all(np.abs(segments[:, 3] - segments[:, 0]))
    chords = _are_chords(segments)
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
    reach = max(round(CORNER_REACH / median(np.abs(differences(vertices)))), 1)
    ahead, behind = vertices[2 * reach :] - vertices[reach:-reach], vertices[reach:-reach] - vertices[: -2 * reach]
    turns = snapped_all(np.abs(np.degrees(np.angle(ahead * np.conj(behind)))))
    sharp = np.flatnonzero(turns >= CORNER_TURN)
    sharp = sharp[sharp + reach + 1 >= FEWEST]
    if not sharp.size:
        return len(vertices)
    # Its neighbours within reach turn by part of it, too.
    near = turns[sharp[0] : sharp[0] + reach + 1]
    return int(sharp[0]) + most_at(near) + reach + 1


def straight(segments: np.ndarray) -> np.ndarray:
    """Which segments (n, 4) are straight lines: handles on the chord within 1e-9 of its length."""
    chord = segments[:, 3] - segments[:, 0]
    size = np.abs(chord)
    off = np.abs(((segments[:, 1:3] - segments[:, :1]) * np.conj(chord)[:, None]).imag).max(axis=1)
    return np.asarray(off <= 1e-9 * size**2 + 1e-15)


def corner_angle(coming: Curve, going: Curve, y_down: bool) -> CornerAngle:
    """The angle of piece between a line that arrives at a corner and the next, on a clockwise outline."""
    found = directions_at(coming, going)
    return CornerAngle(interior_angle(found.before, found.after, y_down), found.uncertainty)


def interior_angle(coming: complex, going: complex, y_down: bool) -> float:
    """Degrees of piece between a line that arrives at a corner and the next, on a clockwise outline."""
    turn = snapped(float(np.degrees(np.angle(going / coming))))
    return 180.0 - (turn if y_down else -turn)
