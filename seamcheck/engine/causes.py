"""What probably happened to a seam that is off, where what the checks observed tells it. It is said as likely, never as fact.

hand amount   an amount that hands work in: eighths of an inch, half and whole centimetres
suspect       the one piece of a seam that bears traces of an alteration, while the pieces of the other side bear none
trace         a kink, a bent grain arrow, a dart that no longer closes true, a corner that is no longer square beside one that is,
              another seam that is off
hinge         a kink that turns the piece by as much as the seam lost or gained at that distance from it
scale         a difference that grows evenly along the whole seam

A trace is what was observed beyond its band, however grave the shop calls it: a check that is turned off is not told, but it
looked, and what it saw is told where it explains a seam. A check that crashed or did not run saw nothing.

The cause is found after all checks have run, from what they observed beyond their bands, so that no check runs
twice.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import radians
from typing import TYPE_CHECKING

from seamcheck.amounts import Angle, Fact, Length, Listed, Name, Phrase, inches, phrase
from seamcheck.checks.darts import DART_LEGS, DART_MOUTH
from seamcheck.checks.edges import EDGE_BLEND
from seamcheck.checks.grain import GRAIN_STRAIGHT
from seamcheck.checks.junctions import SQUARE
from seamcheck.checks.seam_bands import pieces_of, sides_of
from seamcheck.checks.seams import SEAM_LENGTH
from seamcheck.engine.grading import is_beyond

if TYPE_CHECKING:
    from seamcheck.checks.base import Check, Context, Observation
    from seamcheck.engine.observe import Ran
    from seamcheck.pattern.seams import Side
    from seamcheck.pattern.walk import Walk

EIGHTH, HALF_CENTIMETRE = 3.175, 5.0  # mm
LARGEST_BY_HAND = 76.2  # mm: 3 in
NEAR = 0.12  # mm: how near a hand amount a difference must be; some one in eight are so by chance
HINGED = 0.25  # of the amount: by how much the turn at a hinge may miss it
EVEN = 0.15  # of what it should be: by how much a stretch may miss an even growth
LEAST_OF_SCALE = 3  # stretches that must grow evenly

MARKS: tuple[tuple[Check, tuple[str, ...], Phrase], ...] = (
    (GRAIN_STRAIGHT, ("bent",), phrase("its grain arrow is bent")),
    (DART_LEGS, ("unequal",), phrase("the legs of its dart are unequal")),
    (DART_MOUTH, ("pointed", "hollow"), phrase("its edge does not run on when its dart is closed")),
)  # what of them is observed is a trace in words of its own


def explain(context: Context, ran: Sequence[Ran]) -> list[Ran]:
    """What the checks observed in one size; seams that are off with their likely cause, and how to put them right."""
    evidence = Evidence(context, ran)
    return [
        replace(one, observations=tuple(map(evidence.explained, one.observations)))
        if one.check.name == SEAM_LENGTH.name
        else one
        for one in ran
    ]


def hand_amount(mm: float) -> str:
    """The hand amount that a length in mm is, in words: "1/4 in", "1.5 cm"; "" where it is none."""
    amount = abs(mm)
    if not EIGHTH - NEAR <= amount <= LARGEST_BY_HAND + NEAR:
        return ""
    found = []
    for step in (EIGHTH, HALF_CENTIMETRE):
        whole = round(amount / step) * step
        found.append((round(abs(amount - whole), 6), inches(whole) if step == EIGHTH else f"{whole / 10:g} cm"))
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
class KinkTrace:
    """A kink in an edge: where it is in words and in the drawing, and by how many degrees it turns."""

    edge: str
    where: Phrase
    turn: float
    at: complex

    @property
    def words(self) -> Phrase:
        """The kink as a trace of its piece."""
        return phrase(
            "it has a kink of {turn} in {edge}, {where}",
            turn=Angle(self.turn),
            edge=Name(self.edge),
            where=self.where,
        )


@dataclass(frozen=True, slots=True)
class Suspect:
    """The piece that was probably altered, the traces it bears, in words, and its kinks."""

    piece: str
    traces: tuple[Phrase, ...]
    kinks: tuple[KinkTrace, ...]


@dataclass(frozen=True)
class Evidence:
    """The traces of alterations in what was observed in one size, gathered once they are asked for."""

    context: Context
    ran: Sequence[Ran]

    def explained(self, seen: Observation) -> Observation:
        """A seam's length as it was observed, with its cause where it is off and what tells it, and the ways to put it right."""
        walk = self._walks.get(seen.seam or "")
        if walk is None:
            return seen
        off = is_beyond(seen, SEAM_LENGTH, self.context.settings)
        suspected = self.suspect(walk) if off else None
        why = cause(walk, suspected) if off else None
        facts = dict(seen.facts) | {"ways": ways(walk, seen.facts, suspected)}
        if why is None:
            return replace(seen, facts=facts)
        return replace(seen, facts=facts | {"cause": why}, clauses=(*seen.clauses, "cause"))

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
        kinks = tuple(self.kinks.get(name, ()))
        traces = [*self._marks.get(name, ()), *self._corners(walk, name)]
        for edge in dict.fromkeys(kink.edge for kink in kinks):
            here = [kink for kink in kinks if kink.edge == edge]
            several = phrase("it has {number} kinks in {edge}", number=len(here), edge=Name(edge))
            traces.append(here[0].words if len(here) == 1 else several)
        off = [
            one
            for one in self._off
            if one is not walk and name in pieces_of(one) and not set(other.pieces) & set(pieces_of(one))
        ]
        if off:
            seams = Listed(tuple(Name(one.name) for one in off))
            traces.append(phrase("it is off in seam {seams} too", seams=seams))
        return Suspect(name, tuple(traces), kinks) if traces else None

    @cached_property
    def _walks(self) -> Mapping[str, Walk]:
        return {walk.name: walk for walk in self.context.walks}

    @cached_property
    def kinks(self) -> dict[str, list[KinkTrace]]:
        """The kinks of every piece."""
        found: dict[str, list[KinkTrace]] = {}
        for one in self._seen(EDGE_BLEND, "kink"):
            where = phrase("{distance} from {end}", distance=one.facts["distance"], end=one.facts["end"])
            found.setdefault(one.pieces[0], []).append(
                KinkTrace(one.edges[0], where, abs(one.deviation or 0.0), one.at or 0j)
            )
        return found

    @cached_property
    def _marks(self) -> dict[str, list[Phrase]]:
        """Traces in the grain arrow and the darts of each piece."""
        found: dict[str, list[Phrase]] = {}
        for check, codes, words in MARKS:
            for one in self._seen(check, *codes):
                said = found.setdefault(one.pieces[0], [])
                said += [] if words in said else [words]
        return found

    @cached_property
    def _off(self) -> list[Walk]:
        off = {one.seam for one in self._seen(SEAM_LENGTH, "short", "long")}
        return [walk for walk in self.context.walks if walk.name in off]

    def _corners(self, walk: Walk, name: str) -> Iterator[Phrase]:
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
                yield phrase(
                    "its corner {corner} has {angle} while {other} is still square",
                    corner=Name(one[1]),
                    angle=Angle(its),
                    other=Name(".".join(other)),
                )

    def _seen(self, check: Check, *codes: str) -> Iterator[Observation]:
        """What a check observed beyond its band."""
        for ran in self.ran:
            if ran.check.name == check.name:
                for one in ran.observations:
                    if one.code in codes and is_beyond(one, ran.check, self.context.settings):
                        yield one


def cause(walk: Walk, suspected: Suspect | None) -> Phrase | None:
    """What probably made a seam differ, as a sentence without its full stop; None where nothing tells."""
    share = scale(walk)
    if share is not None:
        return phrase(
            "It grows evenly along the seam, by {share} of its length: likely one of the two was drawn, printed or copied at "
            "another scale",
            share=f"{100 * abs(share):.1f} %",
        )
    amount = hand_amount(walk.deviation)
    if suspected is None and not amount:
        return None
    if suspected is None:
        return phrase(
            "{amount} is a usual amount to alter by hand: likely one of the two was altered by it and the other not",
            amount=amount,
        )
    by = phrase(" by {amount}, a usual amount by hand", amount=amount) if amount else ""
    hinge = _hinge(walk, suspected)
    if hinge is None:
        return phrase(
            "Likely {piece} was altered{by}: {traces}",
            piece=Name(suspected.piece),
            by=by,
            traces=Listed(suspected.traces),
        )
    others = [one for one in suspected.traces if one != hinge.words]
    return phrase(
        "Likely {piece} was altered{by}: {traces}, as a slash that was hinged there leaves it",
        piece=Name(suspected.piece),
        by=by,
        traces=Listed((*others, hinge.words)),
    )


def _hinge(walk: Walk, suspected: Suspect) -> KinkTrace | None:
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


def ways(walk: Walk, seen: Mapping[str, Fact], suspected: Suspect | None) -> Phrase:
    """How to put a seam right at the table: all ways that are fair, the likeliest first.

    Of what was seen of its length `stretch` and `other_end` are spoken of, where they are there: the stretch that differs, and the
    end of the seam beyond the notches, away from it.
    """
    short, long = sides_of(walk, first_is_short=walk.deviation < 0)
    somewhere = "where it differs" if "stretches" in seen else "in the stretch that differs"
    facts: dict[str, Fact] = {
        "amount": Length(abs(walk.deviation)),
        "short": short,
        "long": long,
        "where": seen.get("stretch", somewhere),
        "other_end": seen.get("other_end", ""),
    }
    if suspected is None:
        template = "Find which of the two was altered. Add {amount} to {short} {where}, or take as much off {long}."
        if "other_end" in seen:
            template += " If the change in that stretch was meant, add it at {other_end} instead and move the notches in between by as much."
        return phrase(template, **facts)
    side = walk.seam.first if suspected.piece in walk.seam.first.pieces else walk.seam.second
    is_short = (walk.deviation < 0.0) == (side is walk.seam.first)
    own = {use.name for use in side.uses}
    kinks = [one for one in suspected.kinks if one.edge in own]
    if kinks:
        facts["where"] = (
            phrase("at the kink {where}", where=kinks[0].where) if len(kinks) == 1 else "shared between its kinks"
        )
    undo = "add {amount} to {short} {where}" if is_short else "take {amount} off {long} {where}"
    carry = "take as much off {long} there" if is_short else "add as much to {short} there"
    if "other_end" in seen:
        give = "add it to {short}" if is_short else "take it off {long}"
        carry += f", or {give} at {{other_end}} and move the notches in between by as much"
    return phrase(
        f"{{piece}} was probably altered, so {undo}. If the alteration is to stay, {carry}.",
        piece=Name(suspected.piece),
        **facts,
    )
