"""What probably happened to a seam that is off, where what is drawn tells it. It is said as likely, never as fact.

hand amount   an amount that hands work in: eighths of an inch, half and whole centimetres
suspect       the one piece of a seam that bears traces of an alteration, while the pieces of the other side bear none
trace         a kink, a bent grain arrow, a dart that no longer closes true, a corner that is no longer square beside one that is,
              another seam that is off
hinge         a kink that turns the piece by as much as the seam lost or gained at that distance from it
scale         a difference that grows evenly along the whole seam
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from math import radians
from typing import TYPE_CHECKING

from seamcheck.amounts import Length, angle, inches, length, listed

if TYPE_CHECKING:
    from seamcheck.checks.base import Check, Context, Observation
    from seamcheck.pattern.seams import Side
    from seamcheck.pattern.walk import Walk

EIGHTH, HALF_CENTIMETRE = 3.175, 5.0  # mm
LARGEST_BY_HAND = 76.2  # mm: 3 in
NEAR = 0.12  # mm: how near a hand amount a difference must be; some one in eight are so by chance
SQUARE = 0.75  # degrees: how near to square a corner is that nobody touched
HINGED = 0.25  # of the amount: by how much the turn at a hinge may miss it
EVEN = 0.15  # of what it should be: by how much a stretch may miss an even growth
LEAST_OF_SCALE = 3  # stretches that must grow evenly


def hand_amount(mm: float) -> str:
    """The hand amount that a length in mm is, in words: "1/4 in", "1.5 cm"; "" where it is none."""
    amount = abs(mm)
    if not EIGHTH - NEAR <= amount <= LARGEST_BY_HAND + NEAR:
        return ""
    found = []
    for step in (EIGHTH, HALF_CENTIMETRE):
        whole = round(amount / step) * step
        found.append((abs(amount - whole), inches(whole) if step == EIGHTH else f"{whole / 10:g} cm"))
    off, words = min(found)
    return words if off <= NEAR else ""


def scale(walk: Walk) -> float | None:
    """By how much of its length the first side grows against the second, where it does so evenly; else None."""
    if len(walk.spans) < LEAST_OF_SCALE or walk.seam.plan.ease is not None or walk.seam.plan.ratio is not None:
        return None
    share = walk.difference / walk.seam.second.length
    even = all(
        abs(span.difference - share * span.second) <= max(EVEN * abs(share) * span.second, NEAR)
        for span in walk.spans
    )
    return share if even else None


@dataclass(frozen=True, slots=True)
class Kink:
    """A kink in an edge: where it is in words and in the drawing, and by how many degrees it turns."""

    edge: str
    where: str
    turn: float
    at: complex

    @property
    def words(self) -> str:
        """The kink as a trace of its piece."""
        return f"it has a kink of {angle(self.turn)} in {self.edge}, {self.where}"


@dataclass(frozen=True, slots=True)
class Suspect:
    """The piece that was probably altered, the traces it bears, in words, and its kinks."""

    piece: str
    traces: tuple[str, ...]
    kinks: tuple[Kink, ...]


@dataclass(frozen=True)
class Evidence:
    """The traces of alterations in one size, found once they are asked for."""

    context: Context

    def suspect(self, walk: Walk) -> Suspect | None:
        """The piece of a seam that was probably altered; None where no side, both, or several pieces of one bear traces."""
        first, second = walk.seam.first, walk.seam.second
        bearing = [
            [found for name in side.pieces if (found := self._suspected(walk, name, other)) is not None]
            for side, other in ((first, second), (second, first))
        ]
        if set(first.pieces) & set(second.pieces) or bool(bearing[0]) == bool(bearing[1]):
            return None
        altered = bearing[0] or bearing[1]
        return altered[0] if len(altered) == 1 else None

    def _suspected(self, walk: Walk, name: str, other: Side) -> Suspect | None:
        kinks = tuple(self._kinks.get(name, ()))
        traces = [*self._marks.get(name, ()), *self._corners(walk, name)]
        for edge in dict.fromkeys(kink.edge for kink in kinks):
            here = [kink for kink in kinks if kink.edge == edge]
            traces.append(here[0].words if len(here) == 1 else f"it has {len(here)} kinks in {edge}")
        off = [
            one
            for one in self._off
            if one is not walk and name in _pieces(one) and not set(other.pieces) & set(_pieces(one))
        ]
        if off:
            traces.append(f"it is off in seam {listed([one.name for one in off])} too")
        return Suspect(name, tuple(traces), kinks) if traces else None

    @cached_property
    def _kinks(self) -> dict[str, list[Kink]]:
        from seamcheck.checks.edges import EDGE_BLEND

        found: dict[str, list[Kink]] = {}
        for one in self._seen(EDGE_BLEND, "kink"):
            distance, end = one.facts["distance"], one.facts["end"]
            assert isinstance(distance, Length)
            where = f"{length(distance)} from {end}"
            found.setdefault(one.pieces[0], []).append(
                Kink(one.edges[0], where, abs(one.deviation or 0.0), one.at or 0j)
            )
        return found

    @cached_property
    def _marks(self) -> dict[str, list[str]]:
        """Traces in the grain arrow and the darts of each piece."""
        from seamcheck.checks.darts import DART_LEGS, DART_MOUTH
        from seamcheck.checks.grain import GRAIN_STRAIGHT

        found: dict[str, list[str]] = {}
        for check, codes, words in (
            (GRAIN_STRAIGHT, ("bent",), "its grain arrow is bent"),
            (DART_LEGS, ("unequal",), "the legs of its dart are unequal"),
            (DART_MOUTH, ("pointed", "hollow"), "its edge does not run on when its dart is closed"),
        ):
            for one in self._seen(check, *codes):
                said = found.setdefault(one.pieces[0], [])
                said += [] if words in said else [words]
        return found

    @cached_property
    def _off(self) -> list[Walk]:
        from seamcheck.checks.seam_bands import band

        return [one for one in self.context.walks if abs(one.deviation) > band(self.context, one)]

    def _corners(self, walk: Walk, name: str) -> Iterator[str]:
        """Corners of a piece at the ends of the seam that are out of square by what the line across is off, beside a square one."""
        for junction in self.context.graph.junctions:
            if walk.name not in junction.seams or len(junction.corners) != 2:
                continue
            off = junction.angle - junction.expected
            (one, its), (other, square) = zip(junction.corners, junction.angles, strict=True)
            if other[0] == name:
                (one, its), (other, square) = (other, square), (one, its)
            if (
                one[0] == name
                and other[0] != name
                and abs(off) > 2 * SQUARE
                and abs(square - 90.0) <= SQUARE
                and abs(its - 90.0 - off) <= SQUARE
            ):
                yield f"its corner {one[1]} has {angle(its)} while {'.'.join(other)} is still square"

    def _seen(self, check: Check, *codes: str) -> Iterator[Observation]:
        """What a check finds beyond half its tolerance: what is said to the reader, too."""
        from seamcheck.checks.base import Skip

        for one in check.run(self.context):
            if isinstance(one, Skip) or one.code not in codes or one.deviation is None:
                continue
            tolerance = one.own_tolerance or self._tolerance(check)
            if abs(one.deviation) > tolerance / 2:
                yield one

    def _tolerance(self, check: Check) -> float:
        from seamcheck.amounts import Unit

        shop = self.context.settings.tolerance(check.name, "mm" if check.unit is Unit.LENGTH else "degrees")
        return shop or check.tolerance or 0.0


def _pieces(walk: Walk) -> tuple[str, ...]:
    return (*walk.seam.first.pieces, *walk.seam.second.pieces)


def cause(walk: Walk, suspected: Suspect | None) -> str:
    """What probably made a seam differ, as a sentence without its full stop; "" where nothing tells."""
    share = scale(walk)
    if share is not None:
        return (
            f"It grows evenly along the seam, by {100 * abs(share):.1f} % of its length: likely one of the two was drawn, printed or "
            "copied at another scale"
        )
    amount = hand_amount(walk.deviation)
    if suspected is None:
        return (
            f"{amount} is a usual amount to alter by hand: likely one of the two was altered by it and the other not"
            if amount
            else ""
        )
    by = f" by {amount}, a usual amount by hand" if amount else ""
    hinge = _hinge(walk, suspected)
    if hinge is None:
        return f"Likely {suspected.piece} was altered{by}: {listed(suspected.traces)}"
    others = [one for one in suspected.traces if one != hinge.words]
    return f"Likely {suspected.piece} was altered{by}: {listed([*others, hinge.words])}, as a slash that was hinged there leaves it"


def _hinge(walk: Walk, suspected: Suspect) -> Kink | None:
    """The kink about which a turn changes the seam by as much as it is off."""
    side = walk.seam.first if suspected.piece in walk.seam.first.pieces else walk.seam.second
    own = [edge for use, edge in zip(side.uses, side.edges, strict=True) if use.piece == suspected.piece]
    names = {f"{suspected.piece}.{edge.name}" for edge in own}
    for kink in suspected.kinks:
        if kink.edge in names:
            continue
        arm = min(run.nearest(kink.at).distance for edge in own for run in edge.runs)
        if abs(radians(kink.turn) * arm - abs(walk.deviation)) <= HINGED * abs(walk.deviation):
            return kink
    return None


def ways(walk: Walk, short: str, long: str, stretch: str, other_end: str, suspected: Suspect | None) -> str:
    """How to put a seam right at the table: all ways that are fair, the likeliest first.

    `other_end` is the end of the seam beyond the notches, away from the stretch that differs; "" where there is none.
    """
    amount = length(walk.deviation)
    if suspected is None:
        elsewhere = (
            f" If the change in that stretch was meant, add it at {other_end} instead and move the notches in between by as much."
            if other_end
            else ""
        )
        return f"Find which of the two was altered. Add {amount} to {short} {stretch}, or take as much off {long}.{elsewhere}"
    side = walk.seam.first if suspected.piece in walk.seam.first.pieces else walk.seam.second
    own = {use.name for use in side.uses}
    kinks = [one for one in suspected.kinks if one.edge in own]
    where = (
        stretch if not kinks else f"at the kink {kinks[0].where}" if len(kinks) == 1 else "shared between its kinks"
    )
    is_short = (walk.deviation < 0.0) == (side is walk.seam.first)
    undo = f"add {amount} to {short} {where}" if is_short else f"take {amount} off {long} {where}"
    carry = f"take as much off {long} there" if is_short else f"add as much to {short} there"
    if other_end:
        give = f"add it to {short}" if is_short else f"take it off {long}"
        carry += f", or {give} at {other_end} and move the notches in between by as much"
    return f"{suspected.piece} was probably altered, so {undo}. If the alteration is to stay, {carry}."
