"""What changed between two files of one pattern: the terms, without how they are found.

before, after  the file as it was and as it is now
part           all stretches of an outline that moved as one rigid thing
motion         how a part moved: from the axes of the file before to those of the file after
break          a place on the outline where one part ends and the next begins
cut            the breaks between the same two parts: where the paper was slashed, and what turned about what
redrawn        a stretch of outline that no rigid motion explains, and what was done to it
drift          by how much a notch's station changed

Stations on an outline are mm from its start, clockwise as seen; stations on an edge count from where it is walked from.
Turns are in degrees, positive anticlockwise as the file is seen.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from seamcheck.exact import most
from seamcheck.geometry.curve import Affine
from seamcheck.pattern.model import Notch, Pattern, Piece

RedrawnKind = Literal["scooped", "filled", "taken-in", "let-out", "redrawn", "blended"]
EndKind = Literal["extended", "shortened"]
DriftKind = Literal["kept", "step", "linear", "outlier"]


@dataclass(frozen=True, slots=True, kw_only=True)
class OutlinePlace:
    """A place on an outline: its station and point, the edge it lies on and its station there.

    `corner` is the end of that edge it is nearer to, `distance` how far it is from there along the edge.
    """

    station: float
    at: complex
    edge: str = ""
    along: float = 0.0
    corner: str = ""
    distance: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class MovedPart:
    """A part that moved rigidly. `turn` is against the reference part, `corners` are those of the piece that it holds.

    `length` is the length of outline of the file before that belongs to it, `middle` a point amid it there and `amid` the
    middle of its longest stretch.
    """

    motion: Affine
    turn: float
    length: float
    middle: complex
    amid: OutlinePlace
    corners: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeStretch:
    """A stretch of outline, clockwise: where it was, where it is, and which part it belongs to (None: redrawn).

    Of `after` the first station belongs to the first of `before`; in a mirrored piece it runs the other way.
    """

    before: tuple[float, float]
    after: tuple[float, float]
    part: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Break:
    """Where two parts meet on the outline, `first` clockwise before `second`.

    `amount` is by how much the line became longer there: spread when positive, overlapped when negative, a hinge
    (nothing) in between. `before` and `after` are the place in either file. It is `sharp` where the parts still meet as
    they were taped; else a line was drawn across.
    """

    first: int
    second: int
    amount: float
    before: OutlinePlace
    after: OutlinePlace
    sharp: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """Two parts and the breaks between them: `moved` turned by `turn` against `fixed`, or moved by `shift` mm.

    `centre` is the point of the file before that stayed the same to both (None where nothing turned); `hinge` is the
    break that lies at it, if one does.
    """

    fixed: int
    moved: int
    turn: float
    shift: float
    centre: complex | None
    breaks: tuple[Break, ...]
    hinge: Break | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RedrawnEnd:
    """An edge that ends elsewhere on its own line: `amount` mm longer (or, negative, shorter) at a corner."""

    edge: str
    corner: str
    kind: EndKind
    amount: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Redrawn:
    """A stretch of one edge that was drawn anew.

    `depth` is its greatest distance from the old line, outward positive, and `deepest` the place of the old line where;
    `at_middle` is the distance from the middle of the old line.
    `offsets` are the distances at its two ends, in walking order of the edge; `ends` these ends as places of the old
    line. `change` is by how much the line became longer.
    """

    edge: str
    kind: RedrawnKind
    depth: float
    deepest: OutlinePlace
    at_middle: float
    ends: tuple[OutlinePlace, OutlinePlace]
    offsets: tuple[float, float]
    change: float


@dataclass(frozen=True, slots=True, kw_only=True)
class NotchChange:
    """A notch before and after. `from_start` and `from_end` are its drifts as measured from either end of the edge.

    `expected` is the station to which its part took it. `kind` says what became of it: it kept its station from the
    start, moved by a step with its part, in proportion with the whole edge, or by itself. `drift` is how far it is
    from the nearest station that would be right, signed: 0 for one that is as far from one end as before, or
    between two changes that account for it.
    """

    edge: str
    before: Notch
    after: Notch
    expected: float
    from_start: float
    from_end: float
    kind: DriftKind = "kept"
    drift: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeChange:
    """An edge that both files have: lengths, angles at its two ends in degrees, notches."""

    name: str
    before: float
    after: float
    angles_before: tuple[float, float]
    angles_after: tuple[float, float]
    notches: tuple[NotchChange, ...] = ()
    lost: tuple[Notch, ...] = ()
    new: tuple[Notch, ...] = ()

    @property
    def change(self) -> float:
        """By how much the edge became longer, in mm."""
        return self.after - self.before


@dataclass(frozen=True, slots=True, kw_only=True)
class GrainChange:
    """The grain arrow: by how much each of its straight lines turned against the reference part, and its parts."""

    turns: tuple[float, ...]
    at: complex

    @property
    def turn(self) -> float:
        """The turn that is greatest."""
        return most(self.turns, key=abs)


@dataclass(frozen=True, slots=True, kw_only=True)
class DartChange:
    """A dart: legs and intake before and after in mm, how its middle line turned, and how far its tip moved.

    Turn and move are against the reference part.
    """

    corners: tuple[str, str, str]
    legs_before: tuple[float, float]
    legs_after: tuple[float, float]
    intake_before: float
    intake_after: float
    turn: float
    tip_moved: float

    @property
    def greatest(self) -> float:
        """What changed most of it, in mm: a leg, the intake, or the place of its tip."""
        legs = (abs(after - before) for before, after in zip(self.legs_before, self.legs_after, strict=True))
        return max(self.tip_moved, abs(self.intake_after - self.intake_before), *legs)


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceChange:
    """One piece in one size in both files.

    `placement` is the motion of the reference part: where the piece as such was moved, turned or mirrored to.
    `noise` is how far the two outlines differ where they are the same, in mm, and `tolerance` what counts as the same.
    """

    before: Piece
    after: Piece
    placement: Affine
    mirrored: bool
    tolerance: float
    noise: float
    parts: tuple[MovedPart, ...] = ()
    stretches: tuple[EdgeStretch, ...] = ()
    breaks: tuple[Break, ...] = ()
    cuts: tuple[Cut, ...] = ()
    redrawn: tuple[Redrawn, ...] = ()
    ends: tuple[RedrawnEnd, ...] = ()
    edges: tuple[EdgeChange, ...] = ()
    grain: GrainChange | None = None
    darts: tuple[DartChange, ...] = ()
    lost_corners: tuple[str, ...] = ()

    def __repr__(self) -> str:
        """Return one line."""
        return f"<PieceChange {self.name}: size {self.after.size}, {'unchanged' if self.unchanged else 'changed'}>"

    @property
    def name(self) -> str:
        """The name of the piece as it is now."""
        return self.after.name

    @property
    def same_outline(self) -> bool:
        """Whether the outline is one rigid part: perhaps moved, but not changed."""
        return len(self.parts) == 1 and not (self.redrawn or self.ends or self.breaks)

    @property
    def unchanged(self) -> bool:
        """Whether nothing changed but where the piece lies: outline, notches, grain and darts are as they were."""
        notches = all(
            abs(notch.after.station - notch.expected) <= self.notch_tolerance
            and notch.before.count == notch.after.count
            for edge in self.edges
            for notch in edge.notches
        )
        marks = not any(edge.lost or edge.new for edge in self.edges)
        grain = self.grain is None or abs(self.grain.turn) <= SAME_TURN
        darts = all(dart.greatest <= self.notch_tolerance for dart in self.darts)
        return self.same_outline and notches and marks and grain and darts

    @property
    def notch_tolerance(self) -> float:
        """How far a notch may be from its place and still be where it was, in mm."""
        return max(SAME_NOTCH, min(LOOSE_NOTCH, UNSTEADY * self.noise))

    @property
    def length_tolerance(self) -> float:
        """By how much the length of an edge may differ and still be the same, in mm: an unsteady hand adds to it."""
        return max(SAME_LENGTH, min(LOOSE_NOTCH, UNSTEADY * self.noise))

    def edge(self, name: str) -> EdgeChange | None:
        """The change of an edge, or None when not both files have it."""
        return next((edge for edge in self.edges if edge.name == name), None)


SAME_TURN = 0.05  # degrees: less is drawing noise
SAME_NOTCH = 0.1  # mm
SAME_LENGTH = 0.1  # mm
LOOSE_NOTCH = 0.5  # mm, where a line was digitised by hand
UNSTEADY = 30.0  # times the noise of a line by which places along it may differ


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Two files of one pattern, piece by piece in every size that both have.

    `added` and `removed` are the names of pieces that only one of them has, `sizes_before` and `sizes_after` sizes that
    only one has.
    """

    before: Pattern
    after: Pattern
    pieces: tuple[PieceChange, ...]
    added: tuple[str, ...] = ()
    removed: tuple[str, ...] = ()
    sizes_before: tuple[str, ...] = ()
    sizes_after: tuple[str, ...] = ()
    renamed: Mapping[str, str] = field(default_factory=dict)  # name in the file after -> name in the file before

    def __repr__(self) -> str:
        """Return one line."""
        changed = sum(not piece.unchanged for piece in self.pieces)
        return f"<Comparison {self.before.path} to {self.after.path}: {changed} of {len(self.pieces)} pieces changed>"

    def piece(self, name: str, size: str) -> PieceChange | None:
        """The change of a piece, by its name and size in the file after; None when the file before has none such."""
        return next((one for one in self.pieces if one.after.name == name and one.after.size == size), None)

    def edge(self, piece: str, edge: str, size: str) -> EdgeChange | None:
        """The change of an edge; None when it cannot be compared."""
        change = self.piece(piece, size)
        return change.edge(edge) if change is not None else None
