"""The seam plan as data: what a person says is sewn to what, and by how much the sides may differ.

Lengths in mm, points in the axes of the file.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from seamcheck.amounts import count
from seamcheck.places import NOWHERE, Place
from seamcheck.spelling import by_name

DEFAULT_TOLERANCE = 1.6  # mm; 1/16 in, the usual limit between two sides of a seam
Cut = Literal["pair", "one", "fold"] | int
Span = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class PiecePlan:
    """One piece: what the file calls it, how it is cut, its corners (mm, in the file's axes) and its edges.

    `cut` is "pair" (left and right mirrored), "one", "fold" or a number of copies. A piece with a `fold` edge
    is drawn as a half. `line` says whether the drawn outline is the "sew" or the "cut" line, None if the plan
    leaves it to the file. A `master` is right as it is: its mates give way. What a slash took from an edge
    goes back at the end that `give_back` names. `allowance` holds for every edge that `allowances` does not name.
    """

    name: str
    in_file: str
    cut: Cut = "one"
    fold: str | None = None
    line: str | None = None
    allowance: float | None = None
    allowances: Mapping[str, float] = field(default_factory=dict)
    unsewn: tuple[str, ...] = ()
    master: bool = False
    give_back: Mapping[str, str] = field(default_factory=dict)  # an edge, and the corner at one of its ends
    corners: Mapping[str, complex] = field(default_factory=dict)
    edges: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    place: Place = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class DartPlan:
    """A dart: its piece, and the corners mouth, tip, mouth."""

    piece: str
    corners: tuple[str, str, str]
    place: Place = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class PleatPlan:
    """A pleat: its piece, and the corners at which its two fold lines meet the edge."""

    piece: str
    corners: tuple[str, str]
    place: Place = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True)
class EdgeUse:
    """One edge in a side of a seam; `backwards` when it is walked from its last corner to its first."""

    piece: str
    edge: str
    backwards: bool = False

    def __str__(self) -> str:
        """The edge as the plan writes it: "front.waist", or "-front.waist" backwards."""
        return f"{'-' if self.backwards else ''}{self.name}"

    @property
    def name(self) -> str:
        """The edge itself, whichever way it is walked: "front.waist"."""
        return f"{self.piece}.{self.edge}"


@dataclass(frozen=True, slots=True, kw_only=True)
class SeamPlan:
    """Two sides that are sewn together, each walked edge by edge from its start.

    `ease` is the range in mm of the first side's length minus the second's, `ratio` the range of first over second;
    at most one is given. `ease_between` are two distances in mm along the second side between which all the ease lies,
    None where it may lie anywhere. `tolerance` in mm is this seam's own. The side that is `master` is right as it is.
    """

    name: str
    sides: tuple[tuple[EdgeUse, ...], tuple[EdgeUse, ...]]
    ease: Span | None = None
    ratio: Span | None = None
    ease_between: Span | None = None
    tolerance: float | None = None
    master: Literal["first", "second"] | None = None
    place: Place = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class ShapedPlan:
    """A junction that is meant to be pointed: one corner of it as (piece, corner), and what its angles add to."""

    corner: tuple[str, str]
    angle: float | None = None
    why: str = ""
    place: Place = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class AcceptedPlan:
    """A finding that the shop accepts: the check, perhaps one code of it, where, and why.

    None accepts any. `edge` is "piece.edge" where the piece is known. `why` is "" when the plan gives no reason.
    """

    check: str
    code: str | None = None
    seam: str | None = None
    piece: str | None = None
    edge: str | None = None
    size: str | None = None
    why: str = ""
    place: Place = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """A whole plan; lengths in mm, `units` is what its file is written in.

    `states_tolerance` tells a tolerance the plan sets from the default.
    """

    path: str = field(default="", compare=False)
    name: str = ""
    units: str = "mm"
    tolerance: float = DEFAULT_TOLERANCE
    states_tolerance: bool = False
    pieces: tuple[PiecePlan, ...] = ()
    darts: tuple[DartPlan, ...] = ()
    pleats: tuple[PleatPlan, ...] = ()
    seams: tuple[SeamPlan, ...] = ()
    shaped: tuple[ShapedPlan, ...] = ()
    accepted: tuple[AcceptedPlan, ...] = ()

    def __repr__(self) -> str:
        """Return one line."""
        return f"<Plan {self.name}: {count(len(self.pieces), 'piece')}, {count(len(self.seams), 'seam')}>"

    def piece(self, name: str) -> PiecePlan:
        """The piece of that name; UnknownNameError, a KeyError that names the nearest, when the plan has none."""
        return by_name(self.pieces, name, "the plan", "piece")
