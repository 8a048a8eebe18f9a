"""What a slash or a careless join leaves inside a line and a hand-blended line has not.

kink   a place where the direction changes at once
step   a sideways jump: the line runs on beside itself
flat   a ruled stretch between two kinks to one side, as where a spread slash was bridged with a ruler

Where a line is drawn with curves and long straight lines, the direction changes at a joint by what its tangents say,
exactly. Where it is digitised, in short chords, that is judged by `digitised`.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

import numpy as np
import numpy.typing as npt

from seamcheck.exact import EXACT, snapped
from seamcheck.geometry.curve import Curve
from seamcheck.geometry.digitised import breaks
from seamcheck.geometry.end_directions import straight
from seamcheck.geometry.exact_arrays import snapped_all
from seamcheck.geometry.short_arrays import differences, median

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
    kinks, steps = _kinks_and_steps(curve)
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


def kinks_of(curve: Curve) -> list[Kink]:
    """Every change of direction of a line from half a degree on, in order, also those that are parts of a step."""
    kinks, steps = _kinks_and_steps(curve)
    for step in steps:
        turn = float(np.degrees(np.arcsin(np.clip(step.jog / step.over, -1.0, 1.0))))
        kinks += [Kink(step.station - step.over / 2, turn), Kink(step.station + step.over / 2, -turn)]
    return sorted(kinks, key=lambda kink: kink.station)


def _ruled(curve: Curve, first: Kink, last: Kink) -> bool:
    """Whether the line between two kinks bends by little beside what it turns in them."""
    between = curve.between(first.station, last.station)
    if between.is_straight(RULED):
        return True
    if not np.all(straight(between.segments)):
        return False
    # In chords a kink lies between vertices: the first and the last chord may be across it.
    within = between.segments[1:-1] if len(between.segments) > 2 else between.segments
    turned = np.degrees(np.angle((within[-1, 3] - within[-1, 0]) / (within[0, 3] - within[0, 0])))
    return bool(abs(turned) < min(abs(first.turn), abs(last.turn)) / 2)


def _kinks_and_steps(curve: Curve) -> tuple[list[Kink], list[Step]]:
    count = len(curve.segments)
    if count == 1:
        return [], []
    rows = _digitised_rows(curve)
    in_row = np.zeros(count, dtype=np.bool_)
    for first, last in rows:
        in_row[first:last] = True
    turns, stations = curve.joint_turns()[: count - 1], curve.joint_stations[1:-1]
    drawn = ~(in_row[:-1] | in_row[1:]) & (np.abs(turns) >= SMALLEST)
    kinks = [Kink(snapped(float(stations[i])), float(turns[i])) for i in np.flatnonzero(drawn)]
    steps: list[Step] = []
    for first, last in rows:
        for kink, step in _in_row(curve, first, last):
            kinks += [kink] if abs(kink.turn) >= SMALLEST else []
            steps += [step] if abs(step.jog) >= SMALLEST_JOG else []
    return sorted(kinks, key=lambda kink: kink.station), steps


def _digitised_rows(curve: Curve) -> list[tuple[int, int]]:
    """Which segments, from the first up to but not including the last, are the chords of a digitised line."""
    short = straight(curve.segments) & (snapped_all(differences(curve.joint_stations)) <= CHORD)
    rows = [(key, [k for k, _ in row]) for key, row in groupby(enumerate(short.tolist()), key=lambda one: one[1])]
    return [(row[0], row[-1] + 1) for is_short, row in rows if is_short and len(row) >= ROW]


def _in_row(curve: Curve, first: int, last: int) -> list[tuple[Kink, Step]]:
    """What breaks the line in the chords from `first` up to `last`, and where they meet what is drawn beside them."""
    stations = curve.joint_stations[first : last + 1]
    chord = median(differences(stations))
    before, after = [
        [
            float(station + way * chord * k)
            for k in range(1, BESIDE + 1)
            if low - EXACT <= station + way * chord * k <= high + EXACT
        ]
        for station, way, low, high in (
            (stations[0], -1, curve.joint_stations[max(first - 1, 0)], stations[0]),
            (stations[-1], 1, stations[-1], curve.joint_stations[min(last + 1, len(curve.segments))]),
        )
    ]
    along = np.array([*reversed(before), *stations, *after])
    vertices = curve.points(along)
    chords = np.concatenate([[0.0], np.cumsum(np.abs(differences(vertices)))])
    found = []
    for one in breaks(vertices, np.radians(SMALLEST), SMALLEST_JOG):
        station = float(np.interp(one.station, chords, along))
        if stations[0] - chord <= station <= stations[-1] + chord:
            found.append(
                (
                    Kink(snapped(station), snapped(float(np.degrees(one.turn)))),
                    Step(snapped(station), snapped(one.jog), one.chord),
                )
            )
    return found
