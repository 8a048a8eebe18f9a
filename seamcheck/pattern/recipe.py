"""A recipe: the steps of an alteration, each a move on one piece or a fit by name, in order.

spot     a place of a piece as a person says it: a corner, so far along an edge from a corner, a notch, so far along a cut
move     hinge, parallel, scoop, extend, taper, dart, wedge: what hands do to paper
step     a move, or a fit that comes to moves once it is laid on a piece
Amounts are mm. What adds cloth is positive: a spread, a corner led on, a line set out. What takes cloth away is negative: an
overlap, a tuck, a corner cut back.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from seamcheck.places import NOWHERE, Place


@dataclass(frozen=True, slots=True)
class Spot:
    """A place of a piece as a person says it: one of the kinds below; `str()` gives it as a recipe writes it."""


@dataclass(frozen=True, slots=True)
class AtCorner(Spot):
    """A corner of the piece: "side-hem". A cut that ends at the tip of a dart names that."""

    corner: str

    def __str__(self) -> str:
        """As a recipe writes it."""
        return self.corner


@dataclass(frozen=True, slots=True)
class AlongEdge(Spot):
    """So far along the sew line of an edge from the corner at one of its ends: "outseam 425 mm from side-hem".

    `amount` is mm, or a share of the edge's length from 0 to 1 where it is a `share`: "outseam 40 % from side-hem".
    """

    edge: str
    amount: float
    corner: str
    share: bool = False

    def __str__(self) -> str:
        """As a recipe writes it."""
        amount = f"{100 * self.amount:.10g} %" if self.share else f"{self.amount:.10g} mm"
        return f"{self.edge} {amount} from {self.corner}"


@dataclass(frozen=True, slots=True)
class AtNotch(Spot):
    """A notch of an edge, counted from 1 at the edge's start: "notch 2 of outseam"."""

    edge: str
    number: int

    def __str__(self) -> str:
        """As a recipe writes it."""
        return f"notch {self.number} of {self.edge}"


@dataclass(frozen=True, slots=True)
class AlongCut(Spot):
    """A share, from 0 to 1, of the cut of this very step, from the end that opens to its hinge: "0.5 of cut"."""

    share: float

    def __str__(self) -> str:
        """As a recipe writes it."""
        return f"{self.share:.10g} of cut"


@dataclass(frozen=True, slots=True)
class GiveBack:
    """What a move took from an edge, or added to it, made up for at the corner at one of the edge's ends."""

    edge: str
    end: str


@dataclass(frozen=True, slots=True)
class Relief:
    """A second cut, from a spot of the first to an edge of the part that moves, where it is hinged; it opens so that the paper lies flat."""

    start: AlongCut
    hinge: Spot


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """What every step has: its piece, the sizes that it is made in (all, where none are named), and what is given back after it."""

    piece: str
    sizes: tuple[str, ...] = ()
    give_back: tuple[GiveBack, ...] = ()
    place: Place = field(default=NOWHERE, compare=False)  # in the recipe


@dataclass(frozen=True, slots=True, kw_only=True)
class Hinge(Step):
    """A cut from the spot that opens to the spot that is its hinge; the part on one side turns about the hinge.

    `amount` is what the edge at the open end gains on its sew line: a spread is positive, an overlap negative. `stays` names an
    edge or a corner on the part that lies still; where it is "" that is the part through which most of the grain arrow runs.
    """

    opens: Spot
    hinge: Spot
    amount: float
    reliefs: tuple[Relief, ...] = ()
    stays: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Parallel(Step):
    """A cut from edge to edge, both parts `amount` farther apart and nothing turned: a spread is positive, a tuck negative.

    They part square to the cut, or along the grain arrow `by_grain`.
    """

    cut: tuple[Spot, Spot]
    amount: float
    by_grain: bool = False
    stays: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scoop(Step):
    """An edge redrawn between two spots that stay, `amount` deeper into the piece half-way; negative fills it out.

    Its directions at both spots stay too.
    """

    edge: str
    start: Spot
    end: Spot
    amount: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Extend(Step):
    """A corner moved by `amount` on the line of one of its edges, led on straight past its end; negative cuts that edge back.

    The other edge is blended from the corner to a spot of it, `blend`; to its next mark that stays where that is None. With
    `square` the corner moves square out of the edge `along` instead, and both edges are blended to their next marks.
    """

    corner: str
    along: str
    amount: float
    blend: Spot | None = None
    square: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Taper(Step):
    """An edge set out by nothing at `start`, growing to `amount` at `peak`; negative takes it in.

    From the peak it runs out to nothing at `end`, or keeps the amount to the edge's end where `end` is None.
    """

    edge: str
    start: Spot
    peak: Spot
    amount: float
    end: Spot | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DartMove(Step):
    """A dart, named by its tip or one of its mouth corners, changed in one way or more, in this order.

    `deeper`: its mouth so many mm wider, its legs as long as one another. `longer`: its tip so many mm farther from the mouth. `moved`: so many
    mm along its edge towards the corner `towards`. `into`: it is closed, and opened at that spot about the same tip.
    """

    dart: str
    deeper: float = 0.0
    longer: float = 0.0
    moved: float = 0.0
    towards: str = ""
    into: Spot | None = None
    stays: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wedge(Step):
    """An edge turned as it is about a spot of it, so that the corner at its end goes `amount` on the line of the other edge there.

    Positive adds a wedge of cloth outside the edge, negative takes one away. Mouths of darts between go along.
    """

    edge: str
    start: Spot
    corner: str
    amount: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FitStep(Step):
    """A fit by name, by an amount in mm, larger for more of it; None for its usual first amount."""

    fit: str
    amount: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Recipe:
    """The steps in order, each made on what those before it have left; `path` is "" for one that is in no file."""

    steps: tuple[Step, ...]
    name: str = ""
    path: str = ""
