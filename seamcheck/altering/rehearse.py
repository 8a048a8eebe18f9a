"""What an alteration does, as facts: lengths, turns, grain, darts, seams and what their mates need, and what is beyond sense.

wedge to angle   the sum behind a hinge: what is spread or overlapped, over how far away the hinge is, is the turn of the part
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

from seamcheck.altering.run import AlteredFile, AlteredSize, DoneStep
from seamcheck.amounts import Fact
from seamcheck.engine.result import Finding
from seamcheck.fits.piece import FitPiece, LacksRoleError
from seamcheck.pattern.model import Piece
from seamcheck.pattern.recipe import Hinge, Parallel, Step
from seamcheck.pattern.walk import Walk
from seamcheck.truing.leading import side_of
from seamcheck.truing.propose import Alternative

SEEN = 0.05  # mm
TURN_SEEN = 0.05  # degrees
NEAR_NOTCH = 6.4  # mm: a cut that ends nearer to a notch than a quarter inch blends the line under it; common practice, no source
SQUARE = 90.0
OFF_SQUARE = 3.0  # degrees: a crotch corner that was square, and is off by more (I5 of the trade's invariants)
NARROWER = (
    12.7  # mm off the width of a thigh: more than half an inch is felt when walking; common practice, no source
)
TURNS_MUCH = 8.0  # degrees: a part that turns more is a new draft; common practice, no source


@dataclass(frozen=True, slots=True)
class LengthChange:
    """An edge of an altered or following piece: its length before, as the moves left it, and in the end, in mm."""

    piece: str
    edge: str
    before: float
    left: float
    after: float


@dataclass(frozen=True, slots=True)
class GrainTurn:
    """A grain arrow: its direction before and after in degrees, and the turn of its own part; `bent` where it is left in two directions."""

    piece: str
    before: float
    after: float
    bent: bool


@dataclass(frozen=True, slots=True)
class DartTurn:
    """A dart: its intake and longer leg before and after in mm, how far its tip went, and the turn of its middle line in degrees."""

    piece: str
    tip: str
    intake: tuple[float, float]
    leg: tuple[float, float]
    moved: float
    turn: float


@dataclass(frozen=True, slots=True)
class SeamNeed:
    """A seam that the moves changed: by how much its first side was longer than allowed before, as they left it, and in the end.

    `mates` are the edges of pieces that were not altered, and what each would need to be sewn to it as the moves left it.
    """

    seam: str
    before: float
    left: float
    after: float
    tolerance: float
    mates: tuple[str, ...]
    need: float

    @property
    def is_true(self) -> bool:
        """Whether the seam still trued as the moves left it."""
        return abs(self.left) <= self.tolerance / 2


@dataclass(frozen=True, slots=True)
class TwinNeed:
    """A seam of a piece to its own twin, where one of the two alone is altered: the edge, how much longer it becomes than the other's, in mm."""

    seam: str
    edge: str
    longer: float


@dataclass(frozen=True, slots=True)
class Warned:
    """Something beyond sense: a stable code, the piece, and facts for whoever tells it."""

    code: str
    piece: str
    facts: tuple[tuple[str, Fact | float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class StepFacts:
    """One move: its turns in degrees, how far the hinge is from the open end in mm, and the angle that the sum gives."""

    done: DoneStep
    radius: float | None = None
    angle: float | None = None

    @property
    def step(self) -> Step:
        """The move."""
        return self.done.step


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeFacts:
    """All that is told of one size."""

    size: str
    steps: tuple[StepFacts, ...]
    lengths: tuple[LengthChange, ...]
    grain: tuple[GrainTurn, ...]
    darts: tuple[DartTurn, ...]
    seams: tuple[SeamNeed, ...]
    trued: tuple[Alternative, ...]
    left: tuple[Finding, ...]
    warnings: tuple[Warned, ...]
    twins: tuple[TwinNeed, ...] = ()
    halves: tuple[str, ...] = ()  # pieces that change and are cut on a fold, so that both of their halves would


@dataclass(frozen=True, slots=True, kw_only=True)
class Rehearsal:
    """What an alteration does, size by size; `left` tells that pieces stay as they were taped, `only` that one side alone is altered."""

    altered: AlteredFile
    sizes: tuple[SizeFacts, ...]
    left: bool
    only: Literal["", "left", "right"] = ""


def rehearsed(altered: AlteredFile, only: Literal["", "left", "right"] = "") -> Rehearsal:
    """The facts of an alteration that was carried out in memory; of one side alone, also what it leaves between the two sides."""
    sizes = tuple(_size(altered, size) for size in altered.sizes if size.steps)
    if only:
        sizes = tuple(
            replace(facts, twins=tuple(_twins(size)), halves=tuple(_halves(size)))
            for facts, size in zip(sizes, (one for one in altered.sizes if one.steps), strict=True)
        )
    return Rehearsal(altered=altered, sizes=sizes, left=all(size.truing is None for size in altered.sizes), only=only)


def _twins(size: AlteredSize) -> Iterator[TwinNeed]:
    for seam in size.before.judges.plan.seams:
        if seam.sides[0] != seam.sides[1]:
            continue
        for use in seam.sides[0]:
            old, new = (state.pieces.get(use.piece) for state in (size.before, size.after))
            if old is not None and new is not None and old is not new:
                longer = new.edge(use.edge).length - old.edge(use.edge).length
                if abs(longer) > SEEN:
                    yield TwinNeed(seam.name, use.name, longer)


def _halves(size: AlteredSize) -> Iterator[str]:
    for name, plan in size.after.plans.items():
        if plan.fold and size.after.pieces[name] is not size.before.pieces[name]:
            yield name


def _size(altered: AlteredFile, size: AlteredSize) -> SizeFacts:
    pieces = [name for name in size.before.pieces if size.after.pieces[name] is not size.before.pieces[name]]
    proposals = () if size.truing is None else size.truing.proposals
    left = size.truing.left if size.truing is not None else size.after.judged
    return SizeFacts(
        size=size.size,
        steps=tuple(map(_step, size.steps)),
        lengths=tuple(one for name in pieces for one in _lengths(size, name)),
        grain=tuple(one for name in pieces for one in _grain(size, name)),
        darts=tuple(one for name in pieces for one in _darts(size, name)),
        seams=tuple(_seams(size)),
        trued=tuple(one.alternatives[one.taken] for one in proposals),
        left=tuple(one for one in left.findings if one.accepted is None),
        warnings=tuple(_warnings(altered, size)),
    )


def _step(done: DoneStep) -> StepFacts:
    if done.turned is None or not isinstance(done.step, Hinge):
        return StepFacts(done=done)
    radius = done.turned.cut.length
    return StepFacts(done=done, radius=radius, angle=math.degrees(abs(done.step.amount) / radius))


def _lengths(size: AlteredSize, name: str) -> Iterator[LengthChange]:
    edges = [
        {edge.name: edge.length for edge in state.pieces[name].edges}
        for state in (size.before, size.altered, size.after)
    ]
    for edge, before in edges[0].items():
        left, after = edges[1].get(edge, before), edges[2].get(edge, before)
        if max(abs(left - before), abs(after - before)) > SEEN:
            yield LengthChange(name, edge, before, left, after)


def _grain(size: AlteredSize, name: str) -> Iterator[GrainTurn]:
    old, new = size.before.pieces[name].grainlines, size.after.pieces[name].grainlines
    for was, now in zip(old, new, strict=False):
        turn = (now.angle - was.angle + 90.0) % 180.0 - 90.0
        if abs(turn) > TURN_SEEN or len(now.points) != len(was.points):
            yield GrainTurn(name, was.angle, now.angle, len(now.points) > len(was.points))


def _darts(size: AlteredSize, name: str) -> Iterator[DartTurn]:
    old, new = size.before.pieces[name], size.after.pieces[name]
    now = {dart.corners: dart for dart in new.darts}
    flip = -1.0 if old.y_down else 1.0
    for was in old.darts:
        other = now.get(was.corners)
        if other is None:
            continue
        ways = [dart.points[1] - (dart.points[0] + dart.points[2]) / 2 for dart in (was, other)]
        turn = flip * math.degrees(
            math.atan2((ways[1] * ways[0].conjugate()).imag, (ways[1] * ways[0].conjugate()).real)
        )
        legs = tuple(max(leg.length for leg in dart.legs) for dart in (was, other))
        moved = abs(other.points[1] - was.points[1])
        if max(moved, abs(other.intake - was.intake), abs(legs[1] - legs[0])) > SEEN or abs(turn) > TURN_SEEN:
            yield DartTurn(name, was.corners[1], (was.intake, other.intake), (legs[0], legs[1]), moved, turn)


def _seams(size: AlteredSize) -> Iterator[SeamNeed]:
    altered = {done.step.piece for done in size.steps}
    old, new = ({walk.name: walk for walk in state.walks} for state in (size.before, size.after))
    for walk in size.altered.walks:
        was = old.get(walk.name)
        if was is None or walk.seam.twin or abs(walk.deviation - was.deviation) <= SEEN:
            continue
        mates, need = _mates(walk, altered)
        after = new[walk.name].deviation if walk.name in new else walk.deviation
        yield SeamNeed(walk.name, was.deviation, walk.deviation, after, _tolerance(size, walk), mates, need)


def _mates(walk: Walk, altered: set[str]) -> tuple[tuple[str, ...], float]:
    """The edges of a seam on pieces that were not altered, and by how much they would have to be longer."""
    for number in (0, 1):
        side = side_of(walk, number)
        if not altered & set(side.pieces):
            return tuple(use.name for use in side.uses), walk.deviation if number else -walk.deviation
    return (), 0.0


def _tolerance(size: AlteredSize, walk: Walk) -> float:
    plan = size.before.judges.plan
    own = next((seam.tolerance for seam in plan.seams if seam.name == walk.name), None)
    return own or plan.tolerance


def _warnings(altered: AlteredFile, size: AlteredSize) -> Iterator[Warned]:
    told = set()
    for done in size.steps:
        fit = altered.fits.get(done.fit)
        if (
            fit is not None
            and done.amount is not None
            and abs(done.amount) > fit.most + 1e-9
            and fit.name not in told
        ):
            told.add(fit.name)
            yield Warned(
                "more-than-most", done.step.piece, (("fit", fit.name), ("amount", done.amount), ("most", fit.most))
            )
        yield from _of_cut(done)
        for edge in done.kinked:
            yield Warned("kink-left", done.step.piece, (("edge", edge),))
    for name in dict.fromkeys(done.step.piece for done in size.steps):
        yield from _of_piece(size.before.pieces[name], size.after.pieces[name])


def _of_cut(done: DoneStep) -> Iterator[Warned]:
    if done.turned is None or not isinstance(done.step, Hinge | Parallel):
        return
    name, piece = done.step.piece, done.before.pieces[done.step.piece]
    for end in (done.turned.cut.start, done.turned.cut.end, *(cut.end for cut in done.turned.reliefs)):
        for edge in piece.edges:
            for number, notch in enumerate(edge.notches, 1):
                if abs(notch.at - end) < NEAR_NOTCH:
                    yield Warned(
                        "near-notch",
                        name,
                        (("edge", edge.name), ("number", number), ("distance", abs(notch.at - end))),
                    )
    if done.turned.turns and max(map(abs, done.turned.turns)) > TURNS_MUCH:
        yield Warned("turns-much", name, (("turn", max(map(abs, done.turned.turns))),))
    if isinstance(done.step, Hinge):
        for k in _lapping(done):
            yield Warned("relief-laps", name, (("number", k), ("hinge", str(done.step.reliefs[k - 1].hinge))))


def _lapping(done: DoneStep) -> Iterator[int]:
    """The relief cuts, from 1, that lap over instead of opening: then they lie on the wrong side."""
    assert done.turned is not None
    flip = -1.0 if done.before.pieces[done.step.piece].y_down else 1.0
    away = done.turned.cut.start - done.turned.cut.end  # from the hinge to the end that opens
    for k, (cut, (inner, outer)) in enumerate(zip(done.turned.reliefs, pairwise(done.turned.turns), strict=True), 1):
        goes = 1j * flip * (outer - inner) * (cut.start - cut.end)
        if (goes * away.conjugate()).real < 0.0:
            yield k


def _of_piece(before: Piece, after: Piece) -> Iterator[Warned]:
    for role in ("back", "front"):
        old, new = FitPiece(before, role), FitPiece(after, role)
        try:
            corner = old.corner("crotch", "inseam")
            was, now = before.corner(corner).angle, after.corner(corner).angle
            if abs(now - SQUARE) > OFF_SQUARE and abs(now - SQUARE) > abs(was - SQUARE) + TURN_SEEN:
                yield Warned("crotch-off-square", after.name, (("corner", corner), ("angle", now), ("before", was)))
            widths = [_thigh(one) for one in (old, new)]
        except (LacksRoleError, KeyError):
            return
        if widths[0] - widths[1] > NARROWER:
            yield Warned(
                "thigh-tighter",
                after.name,
                (("before", widths[0]), ("after", widths[1]), ("amount", widths[0] - widths[1])),
            )
        return


def _thigh(piece: FitPiece) -> float:
    """The width of a leg at its crotch point, square to the grain, in mm."""
    top = piece.along("inseam", 0.0, "crotch")
    return abs(piece.at(piece.level(top, "outseam")) - piece.at(top))
