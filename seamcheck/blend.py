"""Kinks and steps inside a line: what a slash or a careless join leaves and a hand-blended line has not.

kink   a place where the direction changes at once
step   two opposite kinks close together: the line runs on beside itself
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from seamcheck.curve import Curve
from seamcheck.direction import REACH, SHORT_CHORD, arriving, leaving, straight

Reals = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

SMALLEST = 0.5  # degrees: below this a change of direction is drawing noise
STEP_LENGTH = 20.0  # mm: two opposite kinks no further apart than this are a step
APART = 6.0  # mm: digitised kinks nearer than this are one
AT_END = 3.0  # mm: so near the end of an edge a change of direction belongs to the corner


@dataclass(frozen=True, slots=True)
class Kink:
    """A change of direction in degrees (signed, left positive in mathematical axes) at a station."""

    station: float
    turn: float


@dataclass(frozen=True, slots=True)
class Step:
    """A sideways jump of `jog` mm over the short stretch round a station."""

    station: float
    jog: float


def kinks_and_steps(curve: Curve) -> tuple[list[Kink], list[Step]]:
    """Every kink and step of one run of line, in order. Stations are measured from its start."""
    kinks = [kink for kink in kinks_of(curve) if AT_END <= kink.station <= curve.length - AT_END]
    steps: list[Step] = []
    alone: list[Kink] = []
    k = 0
    while k < len(kinks):
        here = kinks[k]
        after = kinks[k + 1] if k + 1 < len(kinks) else None
        if after and after.station - here.station <= STEP_LENGTH and here.turn * after.turn < 0:
            apart, middle = after.station - here.station, (here.station + after.station) / 2
            steps.append(Step(middle, apart * float(np.sin(np.radians(min(abs(here.turn), abs(after.turn), 90.0))))))
            # What the two kinks do not take back from one another is a kink of the whole line.
            if abs(here.turn + after.turn) >= SMALLEST:
                alone.append(Kink(middle, here.turn + after.turn))
            k += 2
        else:
            alone.append(here)
            k += 1
    return alone, steps


def kinks_of(curve: Curve) -> list[Kink]:
    """Every change of direction of a line from half a degree on, in order, also those that are parts of a step."""
    turns = curve.joint_turns()[: len(curve.segments) - 1]
    stations = curve.joint_stations[1:-1]
    if not len(turns):
        return []
    digitised = _digitised_joints(curve)
    kinks = [
        Kink(float(stations[i]), float(turns[i])) for i in np.flatnonzero(~digitised & (np.abs(turns) >= SMALLEST))
    ]
    if digitised.any():
        kinks += _digitised_kinks(curve, turns, stations, digitised)
    return sorted(kinks, key=lambda kink: kink.station)


def _digitised_joints(curve: Curve) -> Flags:
    """Which inner joints lie between short chords of a digitised curve."""
    lines = straight(curve.segments)
    short = lines & (np.diff(curve.joint_stations) <= SHORT_CHORD)
    return np.asarray(short[:-1] & short[1:])


def _digitised_kinks(curve: Curve, turns: Reals, stations: Reals, digitised: Flags) -> list[Kink]:
    """Kinks between chords: what a turn is beyond that of the curve the chords stand for.

    A kink seldom falls on a vertex, so the chord across it turns a part of it at either end. It is measured
    between the directions in which the line arrives before that chord and leaves behind it; that counts up to
    half as much again as stands out from the neighbours, so that a line that only begins to bend has no kink.
    """
    around = _around(turns)
    usual = np.median(around, axis=0)
    beyond = _beyond(turns, around)
    found: list[tuple[int, Kink]] = []
    last = len(stations) - 1
    for i in map(int, np.flatnonzero(digitised & (np.abs(beyond) >= SMALLEST))):
        before, after = float(stations[max(i - 1, 0)]), float(stations[min(i + 1, last)])
        if before <= SHORT_CHORD or after >= curve.length - SHORT_CHORD:
            continue
        arrives = arriving(curve.between(max(0.0, before - 2 * REACH), before))
        leaves = leaving(curve.between(after, min(curve.length, after + 2 * REACH)))
        fitted = float(np.degrees(np.angle(leaves / arrives))) - 2 * float(usual[i])
        if fitted * beyond[i] > 0:
            found.append((i, Kink(float(stations[i]), min(fitted, 1.5 * float(beyond[i]), key=abs))))
    # Neighbouring joints see the same kink; it is at the one that turns most.
    found.sort(key=lambda item: (-round(abs(item[1].turn), 1), -abs(turns[item[0]] - usual[item[0]])))
    kept: list[tuple[int, Kink]] = []
    for i, kink in found:
        if all(abs(i - k) > 2 and abs(kink.station - other.station) > APART for k, other in kept):
            kept.append((i, kink))
    return [kink for _, kink in kept]


def _around(turns: Reals) -> Reals:
    """For each joint the turns of the second and third joint on either side, shape (4, n)."""
    padded = np.pad(turns, 3, mode="edge")
    return np.stack([padded[k : k + len(turns)] for k in (0, 1, 5, 6)])


def _beyond(turns: Reals, around: Reals) -> Reals:
    """For each joint, what it and the joints beside it turn beyond the range of the next two on either side.

    A curve that bends more and more turns within the range of its neighbours, so only a kink stands out.
    """
    padded = np.pad(turns, 1, mode="edge")
    here = padded[:-2] + turns + padded[2:]
    return np.asarray(here - np.clip(here, 3 * around.min(axis=0), 3 * around.max(axis=0)))
