"""Lines within a piece that are drawn as the legs of a dart, where no plan says that there is one: that is told.

legs   two straight lines from the outline to one point, or one line with that point as its only vertex; about equally long, and
       a good deal longer than they are apart on the outline; or any line called dart that begins and ends on the outline
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import TYPE_CHECKING, NamedTuple

from seamcheck.amounts import Name, PlainLength, phrase
from seamcheck.exact import EXACT, most
from seamcheck.geometry.curve import Curve
from seamcheck.pattern.drawing import Note, Role
from seamcheck.pattern.model import InsideLine, Piece

if TYPE_CHECKING:
    from seamcheck.pattern.plan import DartPlan
    from seamcheck.pieces.outline import Shape

ON_OUTLINE = 1.5  # mm: how near to an outline a leg ends on it
MEET = 1.0  # mm: how near to one another two legs end in one tip
STRAIGHT = 0.5  # mm: how far a leg that nothing calls so may bend
DEEPER = 1.5  # times as long as its mouth is wide a dart is at least
SHORTEST = 25.0  # mm: a shorter one is a notch
ALIKE = 0.85  # of the longer leg: so long the shorter one is at least
SAME_TIP = 5.0  # mm: how near the tip of a planned dart lies to that of the legs that are drawn for it


class Legs(NamedTuple):
    """The lines of what is drawn as a dart: where they leave the outline, and where they meet."""

    mouth: tuple[complex, complex]
    tip: complex


def unplanned_darts(piece: Piece, shape: Shape, planned: Sequence[DartPlan]) -> list[Note]:
    """A note for each pair of legs that is drawn in a piece and belongs to none of its darts; none where a planned tip has no sure place."""
    notes: list[Note] = []
    if any(dart.corners[1] in piece.unsure for dart in planned):
        return notes
    outlines = [one for one in (shape.outline, shape.other) if one is not None]
    for legs in drawn_legs(shape.inside, outlines):
        if any(abs(dart.points[1] - legs.tip) <= SAME_TIP for dart in piece.darts):
            continue
        first, second = legs.mouth
        message = phrase(
            "{piece}: two lines run from the outline to ({x}, {y}), as the legs of a dart do, {apart} apart on the outline. No plan "
            "says that it is one, so its mouth is walked as part of the edge. If it is a dart, name its corners in the plan "
            "under [[darts]].",
            piece=Name(piece.name),
            x=f"{legs.tip.real:.1f}",
            y=f"{legs.tip.imag:.1f}",
            apart=PlainLength(abs(second - first), 1),
        )
        notes.append(Note("dart-not-planned", message))
    return notes


def drawn_legs(inside: Sequence[InsideLine], outlines: Sequence[Curve]) -> list[Legs]:
    """What is drawn as a dart among the lines inside a piece; of several pairs to one tip that with the widest mouth."""
    found: list[Legs] = []
    for legs in _pairs(inside, outlines):
        others = [one for one in found if abs(one.tip - legs.tip) > SAME_TIP]
        alike = [one for one in found if abs(one.tip - legs.tip) <= SAME_TIP]
        found = [*others, most([*alike, legs], key=lambda one: abs(one.mouth[1] - one.mouth[0]))]
    return found


def _pairs(inside: Sequence[InsideLine], outlines: Sequence[Curve]) -> Iterator[Legs]:
    single: list[tuple[complex, complex]] = []  # the straight lines from the outline: their end on it, and the other
    for line in inside:
        if line.role not in (None, Role.DART) or line.curve.is_closed or line.what:
            continue
        curve = line.curve
        ends = [_is_on(end, outlines) for end in (curve.start, curve.end)]
        if all(ends) and len(curve.segments) > 1:
            joints = curve.joint_stations[1:-1]
            tip = float(
                most(joints, key=lambda s: min(abs(curve.point(float(s)) - end) for end in (curve.start, curve.end)))
            )
            parts = curve.split(tip)
            straight = all(part.is_straight(STRAIGHT) for part in parts)
            at = curve.point(tip)
            drawn = line.role is Role.DART or (straight and _are_legs(curve.start, curve.end, at))
            if drawn and not _is_on(at, outlines):
                yield Legs((curve.start, curve.end), at)
        elif sum(ends) == 1 and curve.is_straight(STRAIGHT):
            single.append((curve.start, curve.end) if ends[0] else (curve.end, curve.start))
    for (first, top), (second, other) in combinations(single, 2):
        if abs(top - other) <= MEET + EXACT and _are_legs(first, second, top):
            yield Legs((first, second), top)


def _is_on(at: complex, outlines: Sequence[Curve]) -> bool:
    return any(outline.nearest(at).distance <= ON_OUTLINE + EXACT for outline in outlines)


def _are_legs(first: complex, second: complex, tip: complex) -> bool:
    short, long = sorted((abs(first - tip), abs(second - tip)))
    return short >= max(SHORTEST, ALIKE * long) - EXACT and 0.0 < DEEPER * abs(second - first) <= short + EXACT
