"""What became of the edges, notches, grain and darts of a piece, once it is known how its parts moved."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np

from seamcheck.comparison.alignment import View
from seamcheck.comparison.changes import DartChange, EdgeChange, GrainChange, NotchChange
from seamcheck.comparison.moved_parts import Division
from seamcheck.exact import least
from seamcheck.geometry.curve import Affine
from seamcheck.pattern.model import Edge, Grainline, Notch, Piece

FAR = 40.0  # mm: a notch further from where its part took it is another notch
OTHER_COUNT = 6.0  # mm: what a single notch against a double one weighs when they are told apart
KEPT = 0.4  # mm: a notch this near is where it was
PROPORTION = 0.1  # of a drift that a linear one may miss


def edge_changes(old: View, new: View, division: Division | None) -> tuple[EdgeChange, ...]:
    """Every edge that both pieces have, by name."""
    names = {edge.name: edge for edge in old.piece.edges}
    found = []
    for edge in new.piece.edges:
        before = names.get(edge.name)
        if before is None:
            continue
        pairs, lost, fresh = _paired(before, edge, old, new, division)
        change = EdgeChange(
            name=edge.name,
            before=before.length,
            after=edge.length,
            angles_before=_angles(old.piece, before),
            angles_after=_angles(new.piece, edge),
            notches=tuple(pairs),
            lost=tuple(lost),
            new=tuple(fresh),
        )
        found.append(_with_drift(change))
    return tuple(found)


def _angles(piece: Piece, edge: Edge) -> tuple[float, float]:
    angles = {corner.name: corner.angle for corner in piece.corners}
    return angles.get(edge.start, float("nan")), angles.get(edge.end, float("nan"))


def _paired(
    before: Edge, after: Edge, old: View, new: View, division: Division | None
) -> tuple[list[NotchChange], list[Notch], list[Notch]]:
    """The notches of an edge in pairs, in order, each with the place to which its part took it."""
    expected = [_expected(notch, before, after, old, new, division) for notch in before.notches]
    rows, columns = len(before.notches), len(after.notches)
    cost = np.zeros((rows + 1, columns + 1))
    cost[:, 0] = np.arange(rows + 1) * FAR / 2
    cost[0, :] = np.arange(columns + 1) * FAR / 2
    together = np.full((rows, columns), np.inf)
    for i, one in enumerate(before.notches):
        for j, two in enumerate(after.notches):
            drift = two.station - one.station
            off = min(abs(two.station - expected[i][0]), abs(drift), abs(drift - (after.length - before.length)))
            if off <= FAR:
                together[i, j] = off + (OTHER_COUNT if one.count != two.count else 0.0)
            cost[i + 1, j + 1] = min(cost[i, j + 1] + FAR / 2, cost[i + 1, j] + FAR / 2, cost[i, j] + together[i, j])
    pairs: list[NotchChange] = []
    lost: list[Notch] = []
    fresh: list[Notch] = []
    i, j = rows, columns
    while i or j:
        if i and j and np.isclose(cost[i, j], cost[i - 1, j - 1] + together[i - 1, j - 1]):
            i, j = i - 1, j - 1
            pairs.append(_change(before, after, before.notches[i], after.notches[j], expected[i]))
        elif i and np.isclose(cost[i, j], cost[i - 1, j] + FAR / 2):
            i -= 1
            lost.append(before.notches[i])
        else:
            j -= 1
            fresh.append(after.notches[j])
    return pairs[::-1], lost[::-1], fresh[::-1]


def _expected(
    notch: Notch, before: Edge, after: Edge, old: View, new: View, division: Division | None
) -> tuple[float, tuple[float, float], bool]:
    """The station at which a notch is expected, the window it may lie in, and whether a rigid part carried it."""
    share = notch.station / before.length if before.length else 0.0
    even = (share * after.length, (0.0, after.length), False)
    if division is None or before.inside:
        return even
    station = old.station(old.piece.outline.nearest(notch.at).station)
    there, part, window = division.new_station(station)

    def along(at: float) -> float | None:
        place = new.place(at, after.name)
        return place.along if place.edge == after.name else None

    middle, low, high = along(there), along(window[0]), along(window[1])
    if middle is None:
        return even
    # A stretch that reaches round a corner of the edge gives up to that corner.
    low = (0.0 if middle < after.length / 2 else after.length) if low is None else low
    high = (after.length if middle >= after.length / 2 else 0.0) if high is None else high
    return middle, (min(low, high), max(low, high)), part is not None


def _change(
    before: Edge, after: Edge, one: Notch, two: Notch, expected: tuple[float, tuple[float, float], bool]
) -> NotchChange:
    middle, (low, high), carried = expected
    from_start = two.station - one.station
    from_end = from_start - (after.length - before.length)
    change = NotchChange(
        edge=after.name, before=one, after=two, expected=middle, from_start=from_start, from_end=from_end
    )
    if abs(from_start) <= KEPT:
        return change
    nearest = 0.0 if from_start * from_end <= 0.0 or abs(from_end) <= KEPT else least((from_start, from_end), key=abs)
    if carried and abs(two.station - middle) <= KEPT:
        return replace(change, kind="step", drift=nearest)
    if abs(from_end) <= KEPT:
        return replace(change, kind="step")
    # Within a line that was drawn anew a notch may lie wherever that line gave it room.
    if not carried and nearest == 0.0 and low - KEPT <= two.station <= high + KEPT:
        return change
    off = two.station - middle
    return replace(change, kind="outlier", drift=least((nearest or off, off), key=abs) if carried else nearest or off)


def _with_drift(change: EdgeChange) -> EdgeChange:
    """The edge with notches that drifted in proportion to their stations said to be so."""
    grown = change.change
    if abs(grown) <= 2 * KEPT or len(change.notches) < 2 or not change.before:
        return change
    shares = [grown * notch.before.station / change.before for notch in change.notches]
    linear = all(
        abs(notch.from_start - share) <= KEPT / 2 + PROPORTION * abs(share)
        and min(abs(share), abs(grown - share)) > KEPT
        for notch, share in zip(change.notches, shares, strict=True)
    )
    if not linear:
        return change
    return replace(
        change,
        notches=tuple(
            replace(notch, kind="linear", drift=least((notch.from_start, notch.from_end), key=abs))
            for notch in change.notches
        ),
    )


def grain_change(old: View, new: View, motion: Affine) -> GrainChange | None:
    """By how much the arrow turned against the part that the others moved against; None without two arrows."""
    before, after = _longest(old.piece), _longest(new.piece)
    if before is None or after is None:
        return None
    start, end = (complex(old.to_frame.apply(point)) for point in (before.points[0], before.points[-1]))
    wanted = complex(motion.apply(end) - motion.apply(start))
    points = [complex(new.to_frame.apply(point)) for point in after.points]
    turns = tuple(_line_turn(wanted, b - a) for a, b in pairwise(points) if abs(b - a) > 1.0)
    return GrainChange(turns=turns, at=after.points[0]) if turns else None


def _longest(piece: Piece) -> Grainline | None:
    return max(piece.grainlines, key=lambda grain: round(grain.length, 6), default=None)


def _line_turn(wanted: complex, is_now: complex) -> float:
    """The angle in degrees from one line to another, whichever way they point: above -90 up to 90."""
    if not wanted or not is_now:
        return 0.0
    turn = float(np.degrees(np.angle(is_now / wanted)))
    return (turn + 90.0) % 180.0 - 90.0


def dart_changes(old: View, new: View, motion: Affine) -> tuple[DartChange, ...]:
    """Every dart that both pieces have, by its corners."""
    found = []
    known = {dart.corners: dart for dart in old.piece.darts}
    for dart in new.piece.darts:
        before = known.get(dart.corners)
        if before is None:
            continue
        points = [complex(motion.apply(old.to_frame.apply(point))) for point in before.points]
        now = [complex(new.to_frame.apply(point)) for point in dart.points]
        lines = [(p[0] + p[2]) / 2 - p[1] for p in (points, now)]
        found.append(
            DartChange(
                corners=dart.corners,
                legs_before=(before.legs[0].length, before.legs[1].length),
                legs_after=(dart.legs[0].length, dart.legs[1].length),
                intake_before=before.intake,
                intake_after=dart.intake,
                turn=_line_turn(lines[0], lines[1]),
                tip_moved=abs(now[1] - points[1]),
            )
        )
    return tuple(found)
