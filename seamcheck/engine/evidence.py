"""What probably happened to a seam that is off, and what else is a sign of it, where what the checks observed tells it.

hand amount   an amount that hands work in: eighths of an inch, half and whole centimetres
suspect       the one piece of a seam that bears traces of an alteration, while the pieces of the other side bear none
trace         a kink, a bent grain arrow, a dart that no longer closes true, a corner that is no longer square beside one that is,
              another seam that is off
hinge         a kink that turns the piece by as much as the seam lost or gained at that distance from it
scale         a difference that grows evenly along the whole seam
sign          what comes of the same alteration: it is put right with it, never by itself

Without an earlier file it is said as likely, never as fact. With one, what changed is known: the piece that changed is the one that was
altered, and nothing is guessed.

What a traced line tells within its own uncertainty is no trace: there it must be beyond its whole tolerance for sure. Noise blames nobody.

A trace is what was observed beyond its band, however grave the shop calls it: a check that is turned off is not told, but it
looked, and what it saw is told where it explains a seam. A check that crashed or did not run saw nothing.

It is found after all checks have run, from what they observed beyond their bands, so that no check runs twice.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import radians
from pathlib import PurePath
from typing import TYPE_CHECKING, NamedTuple

from seamcheck.amounts import Angle, Fact, Length, Listed, Name, Phrase, inches, phrase
from seamcheck.checks.darts import DART_LEGS, DART_MOUTH
from seamcheck.checks.edges import EDGE_BLEND
from seamcheck.checks.grain import GRAIN_STRAIGHT
from seamcheck.checks.junctions import SQUARE
from seamcheck.checks.seam_bands import pieces_of, sides_of
from seamcheck.checks.seams import SEAM_LENGTH
from seamcheck.engine.grading import is_beyond, tolerance_of

if TYPE_CHECKING:
    from seamcheck.checks.base import Check, Context, Observation
    from seamcheck.comparison.changes import PieceChange
    from seamcheck.engine.observe import Ran
    from seamcheck.pattern.seams import Side
    from seamcheck.pattern.walk import Walk

EIGHTH, HALF_CENTIMETRE = 3.175, 5.0  # mm
LARGEST_BY_HAND = 76.2  # mm: 3 in
NEAR = 0.12  # mm: how near a hand amount a difference must be; some one in eight are so by chance
HINGED = 0.25  # of the amount: by how much the turn at a hinge may miss it
EVEN = 0.15  # of what it should be: by how much a stretch may miss an even growth
LEAST_OF_SCALE = 3  # stretches that must grow evenly

OF_PIECE = ("edge-blend", "grain-straight", "grain-turned", "dart-legs", "dart-mouth", "square-end")
OF_SEAM = ("seam-span", "notch-match", "notch-drift")

MARKS: tuple[tuple[Check, tuple[str, ...], Phrase], ...] = (
    (GRAIN_STRAIGHT, ("bent",), phrase("its grain arrow is bent")),
    (DART_LEGS, ("unequal",), phrase("the legs of its dart are unequal")),
    (DART_MOUTH, ("pointed", "hollow"), phrase("its edge does not run on when its dart is closed")),
)  # what of them is observed is a trace in words of its own


def explain(context: Context, ran: Sequence[Ran]) -> list[Ran]:
    """What the checks observed in one size; seams that are off with what tells their cause, and its signs with whose they are."""
    evidence = Evidence(context, ran)
    return [
        replace(one, observations=tuple(evidence.explained(one.check, seen) for seen in one.observations))
        if one.observations
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


class KinkTrace(NamedTuple):
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


class Suspect(NamedTuple):
    """The piece that was probably altered, the traces it bears, in words, and its kinks."""

    piece: str
    traces: tuple[Phrase, ...]
    kinks: tuple[KinkTrace, ...]


@dataclass(frozen=True)
class Evidence:
    """The traces of alterations in what was observed in one size, gathered once they are asked for."""

    context: Context
    ran: Sequence[Ran]

    def explained(self, check: Check, seen: Observation) -> Observation:
        """What was observed, with the cause it is a sign of; a seam that is off with what tells it and the ways to put it right."""
        walk = self._walks.get(seen.seam or "") if check.name == SEAM_LENGTH.name else None
        if walk is None:
            key = self._sign_of(check, seen)
            return replace(seen, cause=key) if key else seen
        if not is_beyond(seen, SEAM_LENGTH, self.context.settings):
            return replace(seen, facts=dict(seen.facts) | {"ways": ways(walk, seen.facts, None)})
        suspected = self.suspect(walk)
        told = probable(walk, suspected, self._changed(walk))
        return replace(
            seen,
            facts=dict(seen.facts) | told | {"ways": ways(walk, seen.facts, suspected)},
            cause=self.keys[walk.name],
        )

    @cached_property
    def keys(self) -> dict[str, str]:
        """The cause of every seam that is off: the piece that was probably altered, or the seam itself where none tells."""
        found = {}
        for walk in self._off:
            suspected = self.suspect(walk)
            found[walk.name] = f"piece {suspected.piece}" if suspected else f"seam {walk.name}"
        return found

    def _sign_of(self, check: Check, seen: Observation) -> str:
        """The cause that something else is a sign of; "" where it stands by itself."""
        if not self.keys:
            return ""
        if seen.seam in self.keys and check.name in OF_SEAM:
            return self.keys[seen.seam]
        if check.name in OF_PIECE and len(seen.pieces) == 1:
            key = f"piece {seen.pieces[0]}"
            return key if key in self.keys.values() else ""
        if seen.subject is not None and seen.subject.kind == "junction":
            return self._at_end_of.get(seen.subject.names, "")
        return ""

    @cached_property
    def _at_end_of(self) -> dict[tuple[str, ...], str]:
        """The cause of every junction that a seam which is off ends at: of the altered piece rather than of a seam."""
        found = {}
        for junction in self.context.graph.junctions:
            pieces = {f"piece {piece}" for piece, _ in junction.corners}
            here = [self.keys[walk.name] for walk in self._off if walk.name in junction.seams]
            of_piece = [key for key in here if key in pieces]
            if here:
                found[junction.names] = (of_piece or here)[0]
        return found

    def suspect(self, walk: Walk) -> Suspect | None:
        """The piece of a seam that was probably altered; None where no side, both, or several pieces of one bear traces."""
        first, second = walk.seam.first, walk.seam.second
        changed = self._changed(walk)
        if changed is not None:
            return self._known(changed)
        bearing = [
            [found for name in side.pieces if (found := self._suspected(walk, name, other)) is not None]
            for side, other in ((first, second), (second, first))
        ]
        if set(first.pieces) & set(second.pieces) or bool(bearing[0]) == bool(bearing[1]):
            return None
        altered = bearing[0] or bearing[1]
        return altered[0] if len(altered) == 1 else None

    def _changed(self, walk: Walk) -> Changed | None:
        """What is known of the pieces of a seam from an earlier file; None without one, or where it lacks one of them."""
        before = self.context.before
        if before is None:
            return None
        changes = [before.piece(name, self.context.size) for name in pieces_of(walk)]
        there = [change for change in changes if change is not None]
        if len(there) < len(changes):
            return None
        return Changed(before.before.path, tuple(change for change in there if not change.unchanged))

    def _known(self, changed: Changed) -> Suspect | None:
        """The piece that was altered, as the earlier file tells; None where it was none, or several."""
        if len(changed.pieces) != 1:
            return None
        name = changed.pieces[0].name
        return Suspect(name, (), tuple(self.kinks.get(name, ())))

    def _suspected(self, walk: Walk, name: str, other: Side) -> Suspect | None:
        kinks = tuple(self.kinks.get(name, ()))
        traces = [*self._marks.get(name, ()), *self._corners(walk, name)]
        for edge in dict.fromkeys(kink.edge for kink in kinks):
            here = [kink for kink in kinks if kink.edge == edge]
            several = phrase("it has {number} kinks in {edge}", number=len(here), edge=Name(edge))
            traces.append(here[0].words if len(here) == 1 else several)
        off = [
            one
            for one in self._surely_off
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
        for one in self._traces(EDGE_BLEND, "kink"):
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
            for one in self._traces(check, *codes):
                said = found.setdefault(one.pieces[0], [])
                said += [] if words in said else [words]
        return found

    @cached_property
    def _off(self) -> list[Walk]:
        off = {one.seam for one in self._seen(SEAM_LENGTH, "short", "long")}
        return [walk for walk in self.context.walks if walk.name in off]

    @cached_property
    def _surely_off(self) -> list[Walk]:
        off = {one.seam for one in self._traces(SEAM_LENGTH, "short", "long")}
        return [walk for walk in self._off if walk.name in off]

    def _corners(self, walk: Walk, name: str) -> Iterator[Phrase]:
        """Corners of a piece at the ends of the seam that are out of square by what the line across is off, beside a square one."""
        for junction in self.context.graph.junctions:
            if walk.name not in junction.seams or len(junction.corners) != 2:
                continue
            off = junction.angle - junction.expected
            if abs(off) <= 2 * SQUARE + 2 * junction.uncertainty:
                continue
            (one, its), (other, square) = zip(junction.corners, junction.angles, strict=True)
            if other[0] == name:
                (one, its), (other, square) = (other, square), (one, its)
            if (
                one[0] == name
                and other[0] != name
                and abs(square - 90.0) <= SQUARE
                and abs(its - 90.0 - off) <= SQUARE
            ):
                yield phrase(
                    "its corner {corner} has {angle} while {other} is still square",
                    corner=Name(one[1]),
                    angle=Angle(its),
                    other=Name(".".join(other)),
                )

    def _traces(self, check: Check, *codes: str) -> Iterator[Observation]:
        """What a check observed so far beyond its band that no noise of a traced line can have made it."""
        for one in self._seen(check, *codes):
            tolerance = tolerance_of(check, check.code(one.code), self.context.settings, one.tolerance)
            unsure = one.uncertainty if one.deviation is not None and tolerance is not None else 0.0
            if not unsure or tolerance is None or abs(one.deviation or 0.0) - 2.0 * unsure > tolerance.value:
                yield one

    def _seen(self, check: Check, *codes: str) -> Iterator[Observation]:
        """What a check observed beyond its band."""
        for ran in self.ran:
            if ran.check.name == check.name:
                for one in ran.observations:
                    if one.code in codes and is_beyond(one, ran.check, self.context.settings):
                        yield one


class Changed(NamedTuple):
    """The pieces of a seam that are not as they were in an earlier file, and its path."""

    path: str
    pieces: tuple[PieceChange, ...]


def probable(walk: Walk, suspected: Suspect | None, changed: Changed | None = None) -> dict[str, Fact]:
    """What tells why a seam differs: `altered`, the piece; `probably`, what happened; `undo`, the hinge and how it is turned back.

    `probably` is a sentence without its full stop. What nothing tells is not there.
    """
    hinge = _hinge(walk, suspected) if suspected is not None else None
    found: dict[str, Fact] = {} if suspected is None else {"altered": Name(suspected.piece)}
    if hinge is not None and suspected is not None:
        found["undo"] = _turned_back(walk, suspected, hinge)
    said = _changes(walk, changed) if changed is not None else _likely(walk, suspected, hinge)
    return found if said is None else found | {"probably": said}


def _changes(walk: Walk, changed: Changed) -> Phrase | None:
    """How the edges of a seam changed against the earlier file."""
    own = {edge.lstrip("-") for side in (walk.seam.first, walk.seam.second) for edge in side.names}
    told = [
        phrase(
            "{edge} became {amount} {how}",
            edge=Name(f"{piece.name}.{edge.name}"),
            amount=Length(abs(edge.change)),
            how="longer" if edge.change > 0.0 else "shorter",
        )
        for piece in changed.pieces
        for edge in piece.edges
        if f"{piece.name}.{edge.name}" in own and abs(edge.change) > piece.length_tolerance
    ]
    file = Name(PurePath(changed.path).name)
    if not changed.pieces:
        return phrase("Against {file} no piece of this seam changed: it was off before", file=file)
    if not told:
        return None
    if len(changed.pieces) > 1:
        return phrase("Against {file}, {told}", file=file, told=Listed(tuple(told)))
    return phrase(
        "{piece} was altered: against {file}, {told}, and nothing on the other side did",
        piece=Name(changed.pieces[0].name),
        file=file,
        told=Listed(tuple(told)),
    )


def _likely(walk: Walk, suspected: Suspect | None, hinge: KinkTrace | None) -> Phrase | None:
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
            "Likely one of the two was altered by {amount}, a usual amount by hand, and the other not",
            amount=amount,
        )
    by = phrase(" by {amount}, a usual amount by hand", amount=amount) if amount else ""
    if hinge is None:
        return phrase(
            "{piece} was probably altered{by}: {traces}",
            piece=Name(suspected.piece),
            by=by,
            traces=Listed(suspected.traces),
        )
    others = [one for one in suspected.traces if one != hinge.words]
    return phrase(
        "{piece} was probably altered{by}: {traces}, as a slash that was hinged there leaves it",
        piece=Name(suspected.piece),
        by=by,
        traces=Listed((*others, hinge.words)),
    )


def _turned_back(walk: Walk, suspected: Suspect, hinge: KinkTrace) -> Phrase:
    """How a slash about a hinge is undone: what was overlapped is opened again, what was spread is closed."""
    side = walk.seam.first if suspected.piece in walk.seam.first.pieces else walk.seam.second
    is_short = (walk.deviation < 0.0) == (side is walk.seam.first)
    return phrase(
        "{turn} the slash again about its hinge in {edge}, {where}, until {own} is {amount} {how}",
        turn="Open" if is_short else "Close",
        edge=Name(hinge.edge),
        where=hinge.where,
        own=Listed(tuple(Name(one) for one in side.names)),
        amount=Length(abs(walk.deviation)),
        how="longer" if is_short else "shorter",
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
