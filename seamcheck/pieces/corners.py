"""Where an outline has its corners, when the file does not say so.

A corner is where the direction turns by more than a set angle over 4 mm, and not from vertex to vertex, so that a digitised
curve is one edge and a blended corner one corner; or where two ruled lines meet, from 5 degrees on.
"""

from __future__ import annotations

from bisect import bisect, insort

import numpy as np

from seamcheck.exact import EXACT, snapped
from seamcheck.geometry.bezier import windings
from seamcheck.geometry.curve import Curve
from seamcheck.geometry.end_directions import SHORT_CHORD, straight
from seamcheck.geometry.exact_arrays import snapped_all
from seamcheck.geometry.short_arrays import differences, rolled

CORNER_ANGLE = 25.0  # degrees: a turn from here on is a corner; a hand-drawn curve turns less within CORNER_REACH
CORNER_REACH = 4.0  # mm on either side over which a turn is measured, so that a blended corner is one corner
SHARP_ANGLE = 40.0  # degrees: joints that each turn by this much, as those of a 45 degree cut do, are corners of their own, even near another
RULED_ANGLE = 5.0  # degrees: from here on two ruled lines meet in a corner ...
RULED_LENGTH = 15.0  # mm: ... when one is this long and the other longer than a chord of a digitised curve


def detect_corners(curve: Curve, angle: float = CORNER_ANGLE, reach: float = CORNER_REACH) -> tuple[float, ...]:
    """Stations on a closed curve where its direction, taken over `reach` mm on either side, turns by more than `angle`."""
    total = curve.length
    reach = min(reach, total / 8)
    stations = _places_to_look(curve, angle, reach)
    turned = [(360.0, station) for station in _ruled_corners(curve)]
    for station in stations:
        here = curve.point(station)
        back = here - curve.point((station - reach) % total)
        on = curve.point((station + reach) % total) - here
        if abs(back) < 1e-9 or abs(on) < 1e-9:
            continue
        turn = snapped(abs(float(np.degrees(np.angle(on / back)))))
        if turn >= angle - EXACT:
            turned.append((turn, station))
    sharp = {float(s) for s in curve.joint_stations[1:][np.abs(curve.joint_turns()) >= SHARP_ANGLE - EXACT] % total}
    corners: list[float] = []  # in order, so that those near a station are found without a look at all
    # Of two that turn alike the one on the longer line is kept, so that a mirrored outline has the mirrored corners.
    for _, station in sorted(turned, key=lambda t: (-round(t[0], 6), -round(_longer(curve, t[1]), 6), t[1])):
        near = {
            s
            for way in (-total, 0.0, total)
            for s in corners[bisect(corners, station + way - 3 * reach) : bisect(corners, station + way + 3 * reach)]
            if min(abs(station - s), total - abs(station - s)) <= 2 * reach + EXACT
        }
        if station in sharp:
            near -= {s for s in near & sharp if min(abs(station - s), total - abs(station - s)) >= reach - EXACT}
        if not near:
            insort(corners, station)
    return tuple(corners)


def _longer(curve: Curve, station: float) -> float:
    """The length of the longer segment beside a station, in mm."""
    joints = curve.joint_stations
    before, after = (int(np.searchsorted(joints, station + way * EXACT)) - 1 for way in (-1, 1))
    return max(float(joints[k % (len(joints) - 1) + 1] - joints[k % (len(joints) - 1)]) for k in (before, after))


def _ruled_corners(curve: Curve) -> list[float]:
    """Joints of two straight lines too long for chords: a corner however small the turn, for no curve is drawn so."""
    lengths = snapped_all(differences(curve.joint_stations))
    ruled = straight(curve.segments) & (lengths > SHORT_CHORD)
    long = lengths >= RULED_LENGTH - EXACT
    meets = ruled & rolled(ruled) & (long | rolled(long)) & (np.abs(curve.joint_turns()) >= RULED_ANGLE - EXACT)
    return [float(curve.joint_stations[k + 1] % curve.length) for k in np.flatnonzero(meets)]


def _places_to_look(curve: Curve, angle: float, reach: float) -> list[float]:
    """Joints, and the middles of tight bends, round which enough turning is gathered to be worth a look."""
    joints = np.asarray(curve.joint_stations)
    total = float(joints[-1])
    turns = np.abs(np.asarray(curve.joint_turns()))
    within = snapped_all(np.abs(np.degrees(windings(curve.segments))))
    at = np.concatenate([joints[1:], (joints[:-1] + joints[1:]) / 2])
    amount = np.concatenate([turns, within])
    order = np.argsort(at, kind="stable")
    at, amount = at[order], amount[order]
    rings = np.concatenate([at - total, at, at + total])
    sums = np.concatenate([[0.0], np.cumsum(np.tile(amount, 3))])
    window = reach + EXACT
    low = np.searchsorted(rings, at - window, side="left")
    high = np.searchsorted(rings, at + window, side="right")
    gathered = sums[high] - sums[low]
    return [float(s % total) for s in at[gathered >= 0.8 * angle]]
