"""Edges as they occur on garments, whole and with one fault of a known size: what edge-blend is measured by.

Everything follows from the number of an edge, so that every run makes the same edges. Stations and lengths in mm,
turns in degrees, left positive in mathematical axes.
"""

from __future__ import annotations

import cmath
import math
import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from seamcheck.geometry.curve import Affine, Curve

KINKS = (1.0, 2.0, 3.5, 5.0, 7.0, 10.0, 15.0)
STEPS = (0.3, 0.6, 1.0, 1.6, 2.2, 3.0)
FLATS = (1.0, 2.0, 3.5, 5.0, 7.0, 10.0)  # degrees at either end of the ruled stretch
CHORDS = (0.5, 1.0, 2.0, 3.0, 5.0, 8.0, 10.0)
NOISES = (0.0, 0.1, 0.3)
CLEAR = 25.0  # mm between a fault and the ends of its edge


@dataclass(frozen=True, slots=True)
class Fault:
    """What was done to an edge: "kink", "step" or "flat", how much, and between which stations."""

    kind: str
    size: float
    start: float
    end: float


def _crotch(pick: random.Random) -> Curve:
    """Centre front or back, straight, then round to the crotch point."""
    lean, reach, fall = pick.uniform(0, 18), pick.uniform(50, 130), pick.uniform(55, 110)
    down = cmath.rect(1, math.radians(-90 - lean))
    top = pick.uniform(60, 160)
    turn = down * top
    point = turn + complex(reach, -fall)
    end = cmath.rect(1, math.radians(pick.uniform(-14, -2)))
    return Curve.join(
        [
            Curve.line(0j, turn),
            Curve.cubic(turn, turn + down * fall * 0.6, point - end * reach * pick.uniform(0.45, 0.62), point),
        ]
    )


def _armhole(pick: random.Random) -> Curve:
    """Shoulder to underarm: nearly straight, then ever rounder."""
    depth, inward, out = pick.uniform(170, 230), pick.uniform(5, 25), pick.uniform(70, 120)
    pitch = complex(-inward, -depth * 0.5)
    under = complex(out, -depth)
    return Curve.join(
        [
            Curve.cubic(0j, complex(-inward * 0.5, -depth * 0.17), pitch + depth * 0.17j, pitch),
            Curve.cubic(
                pitch, pitch - depth * pick.uniform(0.22, 0.3) * 1j, under - out * pick.uniform(0.5, 0.65), under
            ),
        ]
    )


def _cap(pick: random.Random) -> Curve:
    """The crown of a sleeve: hollow, round, hollow."""
    half, height = pick.uniform(160, 200), pick.uniform(110, 150)
    front, back = complex(half * 0.5, height * 0.55), complex(-half * 0.5, height * 0.6)
    slope = pick.uniform(46, 56)
    up, down = cmath.rect(1, math.radians(slope)), cmath.rect(1, math.radians(-slope))
    return Curve.join(
        [
            Curve.cubic(complex(-half, 0), complex(-half * 0.82, 2), back - up * 35, back),
            Curve.cubic(back, back + up * 38, complex(-half * 0.22, height), complex(0, height)),
            Curve.cubic(complex(0, height), complex(half * 0.22, height), front - down * 38, front),
            Curve.cubic(front, front + down * 35, complex(half * 0.84, 0), complex(half, 0)),
        ]
    )


def _hip(pick: random.Random) -> Curve:
    """Outseam: straight to the knee, hollow at the thigh, round at the hip, straight to the waist."""
    knee, thigh, hip = pick.uniform(200, 440), pick.uniform(250, 330), pick.uniform(170, 210)
    out, back = pick.uniform(15, 45), pick.uniform(15, 35)
    at, side = complex(0, knee), complex(-out, knee + thigh)
    waist = complex(-out + back, knee + thigh + hip)
    top = cmath.rect(1, math.radians(90 - pick.uniform(8, 16)))
    return Curve.join(
        [
            Curve.line(0j, at),
            Curve.cubic(at, at + thigh * 0.4j, side - thigh * 0.4j, side),
            Curve.cubic(side, side + hip * 0.35j, waist - top * hip * 0.3, waist),
        ]
    )


def _neckline(pick: random.Random) -> Curve:
    """Front neck: from centre front round to the shoulder."""
    wide, deep = pick.uniform(65, 90), pick.uniform(70, 110)
    end = complex(wide, deep)
    lean = cmath.rect(1, math.radians(90 - pick.uniform(0, 12)))
    return Curve.cubic(0j, wide * pick.uniform(0.5, 0.65) + 0j, end - lean * deep * pick.uniform(0.45, 0.6), end)


def _waist(pick: random.Random) -> Curve:
    """A waist that rises to the side."""
    wide, rise = pick.uniform(170, 260), pick.uniform(5, 18)
    end = cmath.rect(1, math.radians(pick.uniform(4, 16)))
    return Curve.cubic(0j, wide * 0.36 + 0j, complex(wide, rise) - end * wide * 0.36, complex(wide, rise))


def _inseam(pick: random.Random) -> Curve:
    """Inseam: hollow from the crotch point to the knee, straight below it."""
    thigh, below, inward = pick.uniform(260, 340), pick.uniform(250, 440), pick.uniform(40, 75)
    top = cmath.rect(1, math.radians(-90 - pick.uniform(8, 18)))
    knee = complex(-inward, -thigh)
    return Curve.join(
        [Curve.cubic(0j, top * thigh * 0.35, knee + thigh * 0.3j, knee), Curve.line(knee, knee - below * 1j)]
    )


def _hem(pick: random.Random) -> Curve:
    """The hem of a flared skirt, a part of a circle."""
    radius = pick.uniform(350, 1500)
    return Curve.arc(0j, radius, start=-90, sweep=math.degrees(pick.uniform(180, 400) / radius))


def _straight(pick: random.Random) -> Curve:
    return Curve.line(0j, cmath.rect(pick.uniform(120, 500), math.radians(pick.uniform(0, 360))))


KINDS: dict[str, Callable[[random.Random], Curve]] = {
    "crotch": _crotch,
    "armhole": _armhole,
    "cap": _cap,
    "hip": _hip,
    "neckline": _neckline,
    "waist": _waist,
    "inseam": _inseam,
    "hem": _hem,
    "straight": _straight,
}


def edge(kind: str, number: int) -> Curve:
    """A whole edge, turned and mirrored at random as pieces lie on a sheet."""
    pick = random.Random(f"{kind} {number}")
    made = KINDS[kind](pick)
    turn = Affine.rotation(pick.uniform(0, 360))
    if pick.random() < 0.5:
        turn = turn @ Affine.scaling(1, -1)
    made = made.transformed(turn)
    return made.reversed() if pick.random() < 0.5 else made


def _behind(curve: Curve, station: float, turn: float, shift: complex = 0j) -> Curve:
    """What lies behind a station, turned about it by degrees and then shifted."""
    rest = curve.between(station, curve.length)
    return rest.transformed(Affine.translation(shift) @ Affine.rotation(turn, rest.start))


def _place(curve: Curve, pick: random.Random) -> float:
    return pick.uniform(CLEAR, curve.length - CLEAR)


def kinked(curve: Curve, turn: float, number: int) -> tuple[Curve, Fault]:
    """The curve with a hinge: from one station on it is turned."""
    at = _place(curve, random.Random(f"kink {number}"))
    bent = Curve.join([curve.between(0, at), _behind(curve, at, turn)])
    return bent, Fault("kink", turn, at, at)


def stepped(curve: Curve, jog: float, number: int) -> tuple[Curve, Fault]:
    """The curve with a sideways jump: an overlap that was ruled over for a few mm."""
    pick = random.Random(f"step {number}")
    at, over = _place(curve, pick), pick.uniform(0.5, 6.0)
    along = curve.tangent(at)
    jump = along * complex(over, jog)
    rest = _behind(curve, at, 0.0, jump)
    bent = Curve.join([curve.between(0, at), Curve.line(curve.point(at), rest.start), rest])
    return bent, Fault("step", jog, at, at + abs(jump))


def flattened(curve: Curve, turn: float, number: int) -> tuple[Curve, Fault]:
    """The curve spread by a hinged slash and ruled over: a straight stretch with as much of a kink at either end."""
    pick = random.Random(f"flat {number}")
    at, over = _place(curve, pick), pick.uniform(8.0, 25.0)
    ruled = curve.tangent(at) * cmath.rect(over, math.radians(turn))
    rest = _behind(curve, at, 2 * turn, ruled)
    bent = Curve.join([curve.between(0, at), Curve.line(curve.point(at), rest.start), rest])
    return bent, Fault("flat", turn, at, at + over)


FAULTS: dict[str, tuple[Callable[[Curve, float, int], tuple[Curve, Fault]], tuple[float, ...]]] = {
    "kink": (kinked, KINKS),
    "step": (stepped, STEPS),
    "flat": (flattened, FLATS),
}


def faulty(curve: Curve, kind: str, size: float, number: int) -> tuple[Curve, Fault]:
    """An edge with a fault of a kind and a size, to the left or to the right."""
    sign = 1 if random.Random(f"side {number}").random() < 0.5 else -1
    return FAULTS[kind][0](curve, sign * size, number)


def digitised(curve: Curve, chord: float, noise: float, number: int) -> Curve:
    """The curve as vertices at most a chord apart, each put down up to `noise` mm beside its place."""
    count = max(2, math.ceil(curve.length / chord - 1e-9))
    vertices = curve.points(np.linspace(0, curve.length, count + 1))
    chance = np.random.default_rng(number)
    off = noise * np.sqrt(chance.random(count + 1)) * np.exp(2j * np.pi * chance.random(count + 1))
    return Curve.polyline(vertices + off)


def forms() -> Iterator[tuple[float | None, float]]:
    """Every way an edge is drawn: as a true curve, and in chords with and without noise."""
    yield None, 0.0
    for chord in CHORDS:
        for noise in NOISES:
            yield chord, noise
