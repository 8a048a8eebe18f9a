"""Kinks and steps inside a line: what a slash or a careless join leaves and a hand-blended line has not.

kink   a place where the direction changes at once
step   two opposite kinks close together: the line runs on beside itself
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from seamcheck.curve import Curve
from seamcheck.direction import REACH, SHORT_CHORD, arriving, leaving, straight

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
    """A sideways jump of `jog` mm over a short stretch; `turn` is what the direction changes on the whole."""

    start: float
    end: float
    jog: float
    turn: float


def kinks_and_steps(curve: Curve) -> tuple[list[Kink], list[Step]]:
    """Every kink and step of one run of line, in order. Stations are measured from its start."""
    kinks = [kink for kink in _kinks(curve) if AT_END <= kink.station <= curve.length - AT_END]
    steps: list[Step] = []
    alone: list[Kink] = []
    k = 0
    while k < len(kinks):
        here = kinks[k]
        after = kinks[k + 1] if k + 1 < len(kinks) else None
        if after and after.station - here.station <= STEP_LENGTH and here.turn * after.turn < 0:
            jog = (after.station - here.station) * float(
                np.sin(np.radians(min(abs(here.turn), abs(after.turn), 90.0)))
            )
            steps.append(Step(here.station, after.station, jog, here.turn + after.turn))
            k += 2
        else:
            alone.append(here)
            k += 1
    return alone, steps


def _kinks(curve: Curve) -> list[Kink]:
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


def _digitised_joints(curve: Curve) -> np.ndarray:
    """Which inner joints lie between short chords of a digitised curve."""
    lines = straight(curve.segments)
    short = lines & (np.diff(curve.joint_stations) <= SHORT_CHORD)
    return np.asarray(short[:-1] & short[1:])


def _digitised_kinks(curve: Curve, turns: np.ndarray, stations: np.ndarray, digitised: np.ndarray) -> list[Kink]:
    """Kinks between chords: what a turn is beyond that of the curve the chords stand for."""
    beyond = _beyond_neighbours(turns)
    found = []
    for i in np.flatnonzero(digitised & (np.abs(beyond) >= SMALLEST)):
        at = float(stations[i])
        before, after = (
            curve.between(max(0.0, at - 2 * REACH), at),
            curve.between(at, min(curve.length, at + 2 * REACH)),
        )
        fitted = float(np.degrees(np.angle(leaving(after) / arriving(before))))
        if fitted * beyond[i] > 0:
            found.append(Kink(at, fitted))
    kept: list[Kink] = []
    for kink in sorted(found, key=lambda kink: -abs(kink.turn)):
        if all(abs(kink.station - other.station) > APART for other in kept):
            kept.append(kink)
    return kept


def _beyond_neighbours(turns: np.ndarray) -> np.ndarray:
    """For each joint, what it and the joints beside it turn beyond the range of the next two on either side.

    A curve that bends more and more turns within the range of its neighbours, so only a kink stands out.
    """
    padded = np.pad(turns, 3, mode="edge")
    around = np.stack([padded[k : k + len(turns)] for k in (0, 1, 5, 6)])
    here = padded[2:-4] + padded[3:-3] + padded[4:-2]
    return np.asarray(here - np.clip(here, 3 * around.min(axis=0), 3 * around.max(axis=0)))
