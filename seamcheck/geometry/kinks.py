"""What a slash or a careless join leaves inside a line and a hand-blended line has not.

kink   a place where the direction changes at once
step   a sideways jump: the line runs on beside itself
flat   a ruled stretch between two kinks to one side, as where a spread slash was bridged with a ruler

Where a line is drawn with curves and long straight lines, the direction changes at a joint by what its tangents say,
exactly. Where it is digitised, in short chords, that is judged by `digitised`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from seamcheck.exact import EXACT, snapped
from seamcheck.geometry.curve import Curve, inner_turns, points_of
from seamcheck.geometry.digitised import SURE, Break, Reals, breaks_of
from seamcheck.geometry.end_directions import ruled
from seamcheck.geometry.exact_arrays import median_of, snapped_all
from seamcheck.geometry.short_arrays import differences
from seamcheck.geometry.smoothing import TELLING

Flags = npt.NDArray[np.bool_]
Points = npt.NDArray[np.complex128]

SMALLEST = 0.5  # degrees: below this a change of direction is drawing noise
SMALLEST_JOG = 0.1  # mm
STEP_LENGTH = 20.0  # mm: two opposite kinks no further apart than this are a step
FLAT_LENGTH = 40.0  # mm: two kinks to one side no further apart than this, with a ruled line between, are a flat spot
RULED = 0.02  # mm: a drawn line that bows no more than this is ruled
AT_END = 3.0  # mm: so near the end of an edge a change of direction belongs to the corner
CHORD = 12.0  # mm: straight segments up to this long ...
ROW = 5  # ... so many of them in a row, are taken for a digitised curve
BESIDE = 10  # vertices that are taken from the line on either side of a digitised row


@dataclass(frozen=True, slots=True)
class Kink:
    """A change of direction in degrees (signed, left positive in mathematical axes) at a station."""

    station: float
    turn: float


@dataclass(frozen=True, slots=True)
class Step:
    """A sideways jump of `jog` mm over `over` mm of line round a station."""

    station: float
    jog: float
    over: float


@dataclass(frozen=True, slots=True)
class Flat:
    """A ruled stretch of `length` mm round a station, with a kink of so many degrees at either end."""

    station: float
    length: float
    turns: tuple[float, float]

    @property
    def depth(self) -> float:
        """How far the middle lies inside an arc that would leave both ends as the line does, in mm."""
        return self.length / 2 * float(np.tan(np.radians(abs(sum(self.turns)) / 4)))


Blemish = Kink | Step | Flat


def blemishes(curve: Curve) -> list[Blemish]:
    """Every kink, step and flat spot of one run of line, in order. Stations are measured from its start."""
    return all_blemishes([curve])[0]


def all_blemishes(curves: Sequence[Curve], noises: Sequence[float] | None = None) -> list[list[Blemish]]:
    """Every kink, step and flat spot of each of several runs of line, in order; of all of them at once.

    `noises` are those of the hands that drew them, in mm: of a line that is too short to show its own.
    """
    found = _kinks_and_steps(curves, noises or [0.0] * len(curves))
    return [_told(curve, *mine) for curve, mine in zip(curves, found, strict=True)]


def _told(curve: Curve, kinks: Sequence[Kink], steps: Sequence[Step]) -> list[Blemish]:
    """What the changes of direction of a line and the steps in it amount to."""
    last = snapped(curve.length) - AT_END
    inside = [kink for kink in kinks if AT_END <= kink.station <= last]
    found: list[Blemish] = [
        Step(step.station, abs(step.jog), step.over) for step in steps if AT_END <= step.station <= last
    ]
    k = 0
    while k < len(inside):
        here = inside[k]
        after = inside[k + 1] if k + 1 < len(inside) else None
        k += 1
        if after is None:
            found.append(here)
            continue
        apart, middle = after.station - here.station, (here.station + after.station) / 2
        if here.turn * after.turn < 0 and apart <= STEP_LENGTH:
            jog = apart * float(np.sin(np.radians(min(abs(here.turn), abs(after.turn), 90.0))))
            found.append(Step(middle, jog, apart))
            # What the two kinks do not take back from one another is a kink of the whole line.
            if abs(here.turn + after.turn) >= SMALLEST:
                found.append(Kink(middle, here.turn + after.turn))
        elif here.turn * after.turn > 0 and apart <= FLAT_LENGTH and _ruled(curve, here, after):
            found.append(Flat(middle, apart, (here.turn, after.turn)))
        else:
            found.append(here)
            continue
        k += 1
    return sorted(found, key=lambda one: one.station)


def kinks_of(curve: Curve, noise: float = 0.0) -> list[Kink]:
    """Every change of direction of a line from half a degree on, in order, also those that are parts of a step; `noise` as above."""
    ((kinks, steps),) = _kinks_and_steps([curve], [noise])
    for step in steps:
        turn = float(np.degrees(np.arcsin(np.clip(step.jog / step.over, -1.0, 1.0))))
        kinks += [Kink(step.station - step.over / 2, turn), Kink(step.station + step.over / 2, -turn)]
    return sorted(kinks, key=lambda kink: kink.station)


def _ruled(curve: Curve, first: Kink, last: Kink) -> bool:
    """Whether the line between two kinks bends by little beside what it turns in them."""
    between = curve.between(first.station, last.station)
    if between.is_straight(RULED):
        return True
    if not ruled(between).all():
        return False
    # In chords a kink lies between vertices: the first and the last chord may be across it.
    within = between.segments[1:-1] if len(between.segments) > 2 else between.segments
    turned = np.degrees(np.angle((within[-1, 3] - within[-1, 0]) / (within[0, 3] - within[0, 0])))
    return bool(abs(turned) < min(abs(first.turn), abs(last.turn)) / 2)


def _kinks_and_steps(curves: Sequence[Curve], noises: Sequence[float]) -> list[tuple[list[Kink], list[Step]]]:
    """The changes of direction, and the steps of digitised rows, of each of several lines."""
    rows = [_digitised_rows(curve) for curve in curves]
    in_rows = _in_rows([(curve, *row) for curve, mine in zip(curves, rows, strict=True) for row in mine])
    hands = (noise for noise, mine in zip(noises, rows, strict=True) for _ in mine)
    least = [noise if row.chords < TELLING else 0.0 for row, noise in zip(in_rows, hands, strict=True)]
    breaks = breaks_of([row.vertices for row in in_rows], np.radians(SMALLEST), SMALLEST_JOG, least)
    told = zip(in_rows, breaks, strict=True)
    found = []
    for curve, mine, turns, noise in zip(curves, rows, inner_turns(curves), noises, strict=True):
        kinks, steps = _drawn_kinks(curve, mine, turns, noise), []
        for row, broken in islice(told, len(mine)):
            for kink, step in row.told(broken):
                kinks += [kink] if abs(kink.turn) >= SMALLEST else []
                steps += [step] if abs(step.jog) >= SMALLEST_JOG else []
        found.append((sorted(kinks, key=lambda kink: kink.station), steps))
    return found


def _drawn_kinks(curve: Curve, rows: Sequence[tuple[int, int]], turns: Reals, noise: float) -> list[Kink]:
    """The inner joints at which a line surely turns, but for those in and beside rows of chords."""
    large = np.abs(turns) >= np.maximum(SMALLEST, SURE * _turn_errors(curve, noise))
    if not large.any():
        return []
    in_row = np.zeros(len(curve.segments), dtype=np.bool_)
    for first, last in rows:
        in_row[first:last] = True
    stations = curve.joint_stations[1:-1]
    drawn = ~(in_row[:-1] | in_row[1:]) & large
    return [Kink(snapped(float(stations[i])), float(turns[i])) for i in np.flatnonzero(drawn)]


def _turn_errors(curve: Curve, noise: float) -> Reals | float:
    """By how many degrees, as standard errors, noise turns the inner joints of a line whose ends of segments it put beside their places."""
    if not noise:
        return 0.0
    chords = np.abs(curve.segments[:, 3] - curve.segments[:, 0])
    before, after = 1.0 / chords[:-1], 1.0 / chords[1:]
    return np.asarray(np.degrees(noise * np.sqrt(before**2 + (before + after) ** 2 + after**2)))


def _digitised_rows(curve: Curve) -> list[tuple[int, int]]:
    """Which segments, from the first up to but not including the last, are the chords of a digitised line."""
    short = snapped_all(differences(curve.joint_stations)) <= CHORD
    if np.count_nonzero(short) < ROW:
        return []
    short &= ruled(curve)
    ends = np.flatnonzero(differences(np.concatenate(([0], short, [0])))).tolist()
    return [(first, last) for first, last in zip(ends[::2], ends[1::2], strict=True) if last - first >= ROW]


class _InRow(NamedTuple):
    """The vertices of a row of chords with places beside it, and the stations of all of them; `stations` are those of its own ends.

    `chord` is how long its chords are, `chords` how many there are.
    """

    vertices: Points
    along: Reals
    stations: tuple[float, float]
    chord: float
    chords: int

    def told(self, breaks: Sequence[Break]) -> Iterator[tuple[Kink, Step]]:
        """What breaks the line in the row."""
        start, end = self.stations
        chords = np.concatenate([[0.0], np.cumsum(np.abs(differences(self.vertices)))])
        for one in breaks:
            station = float(np.interp(one.station, chords, self.along))
            if start - self.chord <= station <= end + self.chord:
                turn = snapped(float(np.degrees(one.turn)))
                yield Kink(snapped(station), turn), Step(snapped(station), snapped(one.jog), one.chord)


def _in_rows(asked: Sequence[tuple[Curve, int, int]]) -> list[_InRow]:
    """The chords of lines from a first up to a last, and where they meet what is drawn beside them."""
    along, own, chords = [], [], []
    for curve, first, last in asked:
        joints = curve.joint_stations
        stations = joints[first : last + 1]
        chord = median_of(differences(stations))
        start, end = float(stations[0]), float(stations[-1])
        low, high = float(joints[max(first - 1, 0)]), float(joints[min(last + 1, len(curve.segments))])
        steps = [chord * k for k in range(1, BESIDE + 1)]
        before = [start - step for step in reversed(steps) if start - step >= low - EXACT]
        after = [end + step for step in steps if end + step <= high + EXACT]
        along.append(np.concatenate([before, stations, after]))
        own.append(slice(len(before), len(before) + len(stations)))
        chords.append(chord)
    beside = points_of(
        [curve for curve, _, _ in asked], [np.delete(all_, mine) for all_, mine in zip(along, own, strict=True)]
    )
    found = []
    for (curve, first, last), stations, mine, chord, points in zip(asked, along, own, chords, beside, strict=True):
        drawn = np.append(curve.segments[first:last, 0], curve.segments[last - 1, 3])
        vertices = np.concatenate([points[: mine.start], drawn, points[mine.start :]])
        ends = float(stations[mine.start]), float(stations[mine.stop - 1])
        found.append(_InRow(vertices, stations, ends, chord, last - first))
    return found
