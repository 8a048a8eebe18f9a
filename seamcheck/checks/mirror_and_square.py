"""Checks on the shape of a piece: square ends at folds and centre lines, left and right as mirror images."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING, NamedTuple

from seamcheck.amounts import Angle, Fact, Length, Name, PlainAngle, Unit, phrase
from seamcheck.checks.base import Check, Code, Context, LookedAt, Observation, Repetition, Severity, Skip
from seamcheck.checks.edges import folds
from seamcheck.checks.junctions import CORNER_TOLERANCE, is_meant
from seamcheck.checks.places import shape
from seamcheck.exact import EXACT
from seamcheck.geometry.kept import kept
from seamcheck.pattern.subject import Subject

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from seamcheck.geometry.curve import Affine, Curve
    from seamcheck.pattern.model import Corner, Piece

STUB = 6.0  # mm that an edge keeps square from a fold or centre line on
MEANT = 20.0  # degrees: what is off square by more is meant to be pointed or slanted
ON_FOLD = 0.1  # mm: how near to the outline a drawn fold line must lie to be the edge of the piece
AT_CORNER = 1.5  # mm
CENTRE_WORDS = frozenset({
    "centre", "center", "cf", "cb", "middle", "mitte", "vm", "hm", "milieu", "centro", "mezzo", "midden",
    "middenvoor", "middenachter",
})  # fmt: skip


class _End(NamedTuple):
    """Where a fold or centre line ends: its corner, and the line that crosses it there, from the corner on.

    `clockwise` tells that the crossing line runs with the outline, clockwise as seen.
    """

    piece: Piece
    line: Fact
    corner: Corner
    crossing: Curve
    clockwise: bool
    is_fold: bool


def _square_end(context: Context) -> Iterator[Observation | LookedAt | Skip]:
    ends = list(_ends(context))
    if not ends:
        yield Skip(reason="no-fold", why="no piece has a fold or a centre line")
    for end in ends:
        piece, corner = end.piece, end.corner
        off, repeats = _off_square(context, end)
        if abs(off) > MEANT and end.is_fold:
            why = phrase(
                "{line} is met at {angle} at {corner}, which was taken for meant",
                line=end.line,
                angle=PlainAngle(corner.angle),
                corner=Name(corner.name),
            )
            yield Skip(reason="meant", why=why, piece=piece.name, repeats=repeats)
        if abs(corner.angle - 90.0) > MEANT:
            yield LookedAt(piece=piece.name)
            continue
        facts: dict[str, Fact] = {"piece": Name(piece.name), "line": end.line, "corner": Name(corner.name)}
        if end.is_fold:  # a centre that is not sewn and opens freely may be cut away on purpose
            yield Observation(
                code="slanted",
                deviation=off,
                uncertainty=corner.uncertainty,
                allowed=(0.0, 0.0),
                at=corner.at,
                pieces=(piece.name,),
                subject=Subject.corner(piece.name, corner.name),
                facts=facts | {"angle": Angle(corner.angle), "shape": shape(-off)},
                repeats=repeats,
            )
        bend = _bend(end.crossing)
        if bend is None:
            yield LookedAt(piece=piece.name)
            continue
        inward = bend if end.clockwise == piece.y_down else -bend
        yield Observation(
            code="bends",
            deviation=inward,
            allowed=(0.0, 0.0),
            at=corner.at,
            pieces=(piece.name,),
            subject=Subject.corner(piece.name, corner.name),
            facts=facts | {"turn": Angle(abs(bend)), "shape": shape(inward)},
        )


def _off_square(context: Context, end: _End) -> tuple[float, tuple[Repetition, ...]]:
    """How many degrees a fold is met off square, and what is said of the seams that meet there.

    What a seam lays beside the corner may make up for it: then it is off by no more than the line across both of them.
    """
    off = end.corner.angle - 90.0
    node = (end.piece.name, end.corner.name)
    for junction in context.graph.junctions:
        if node in junction.corners:
            across = 0.0 if is_meant(context, junction) else junction.angle - junction.expected
            both = min(off, across, key=abs) if off * across > 0.0 else 0.0
            return both, (
                Repetition(check="corner-blend", codes=("pointed", "hollow"), piece=node[0], at=junction.at),
            )
    return off, ()


@kept
def _bend(crossing: Curve) -> float | None:
    """How far a line has turned within the stub, in degrees, beyond what it goes on bending; None where it is digitised.

    The direction of a digitised line at a corner is taken over 12 mm anyway.
    """
    from math import copysign

    import numpy as np

    from seamcheck.geometry.end_directions import digitised_start

    if crossing.length < 2 * STUB or digitised_start(crossing) is not None:
        return None
    start, middle, end = crossing.start, crossing.point(STUB), crossing.point(2 * STUB)
    turn = float(np.degrees(np.angle((middle - start) / crossing.tangent(0.0))))
    # A curve that bends evenly turns half as far to the chord as from one chord to the next.
    even = float(np.degrees(np.angle((end - middle) / (middle - start)))) / 2
    if even * turn <= 0:
        return turn
    return copysign(max(abs(turn) - abs(even), 0.0), turn)


def _ends(context: Context) -> Iterator[_End]:
    for piece, name, fold in folds(context):
        edge = next((edge for edge in piece.edges if edge.name == name), None)
        line = "the fold" if edge is not None else "the fold line"
        if edge is None and not _on_outline(piece, fold):
            continue  # a line that is folded later, and crosses the piece anywhere
        for at in (fold.start, fold.end):
            corner = _corner(piece, at)
            if corner is not None:
                clockwise = _runs_on(piece.outline, corner.station, fold)
                yield _End(
                    piece, line, corner, _from(piece.outline, corner.station, clockwise), clockwise, is_fold=True
                )
    for seam in context.graph.seams:
        if seam.twin and len(seam.first.edges) == 1:
            yield from _centre(context.pieces[seam.first.uses[0].piece], seam.first.edges[0].name)
    for plan in context.plan.pieces if context.plan else ():
        piece_ = context.pieces.get(plan.name)
        for name in plan.unsewn if piece_ is not None else ():
            if piece_ is not None and CENTRE_WORDS.intersection(re.findall(r"[a-z]+", name.casefold())):
                yield from _centre(piece_, name)


def _centre(piece: Piece, name: str) -> Iterator[_End]:
    edge = next((edge for edge in piece.edges if edge.name == name and not edge.inside), None)
    if edge is None:
        return
    line = Name(f"{piece.name}.{name}")
    # What an edge that runs clockwise begins at comes before it, and what it ends at behind it.
    for at, clockwise in ((edge.runs[0].start, not edge.forward), (edge.runs[-1].end, edge.forward)):
        corner = _corner(piece, at)
        if corner is not None:
            yield _End(piece, line, corner, _from(piece.outline, corner.station, clockwise), clockwise, is_fold=False)


def _corner(piece: Piece, at: complex) -> Corner | None:
    """The corner at which a line ends, if it ends at one."""
    corner = min(piece.corners, key=lambda corner: round(abs(corner.at - at), 6), default=None)
    return corner if corner is not None and abs(corner.at - at) <= AT_CORNER else None


def _reach(outline: Curve) -> float:
    """How much of a line that crosses another one is looked at, in mm."""
    return min(outline.length / 4, 4 * STUB)


@kept
def _from(outline: Curve, station: float, clockwise: bool, /) -> Curve:
    """The line that leaves a corner of an outline, with the outline or against it."""
    if clockwise:
        return outline.between(station, (station + _reach(outline)) % outline.length)
    return outline.between((station - _reach(outline)) % outline.length, station).reversed()


@kept
def _runs_on(outline: Curve, station: float, along: Curve) -> bool:
    """Whether the line that crosses another one at a corner of an outline runs with the outline from there.

    The line itself is one of the two that leave the corner; the other one crosses it.
    """
    step = min(STUB, _reach(outline))
    ahead, behind = (outline.point((station + way * step) % outline.length) for way in (1, -1))
    off = along.nearest(ahead).distance
    return off > EXACT and off > along.nearest(behind).distance


@kept
def _on_outline(piece: Piece, fold: Curve) -> bool:
    import numpy as np

    from seamcheck.geometry.distances import distances

    return bool(distances(piece.outline, fold.points(fold.length * np.linspace(0, 1, 9))).max() <= ON_FOLD)


SQUARE_END = Check(
    name="square-end",
    family="shapes",
    meaning="fold and centre lines meet the edges that cross them at 90 degrees for at least the first 6 mm",
    why="What lies on a fold or is sewn to its mirror image shows every degree twice: a waist, neckline or hem that does not leave "
    "the centre squarely opens out to a peak or a dent in the middle of the garment.",
    remedy="Set a square against the fold or centre line and rule the first 6 to 12 mm of the edge; then blend it into the rest.",
    source="the waist is drawn square to the centre line before it curves: Wikibooks, Dressmaking, Pants; 1/4 to 1/2 in of square stub: "
    "common practice, no source; tolerance by geometry: 3.5° is 1/16 in, one inch from the corner",
    tolerance=CORNER_TOLERANCE,
    unit=Unit.ANGLE,
    repeats=("corner-blend/pointed", "corner-blend/hollow"),
    codes=(
        Code(
            name="slanted",
            meaning="the edge meets the fold or centre line at another angle than 90 degrees",
            message="{piece}: at {corner}, {line} is met at {angle} instead of 90°; opened out, the edge makes {shape} instead of running on.",
            advice="Square the first 6 to 12 mm of the edge off the fold or centre line and blend the rest.",
            facts=("piece", "corner", "line", "angle", "shape"),
        ),
        Code(
            name="bends",
            meaning="the edge leaves the fold or centre line squarely and turns away at once",
            message="{piece}: at {corner} the edge turns by {turn} within 6 mm of {line}; opened out, it makes {shape} instead of running on.",
            advice="Keep the first 6 to 12 mm of the edge straight and square, and blend into the rest from there.",
            facts=("piece", "corner", "turn", "line", "shape"),
        ),
    ),
    run=_square_end,
)


# Left and right

SIDE_WORDS = {
    "left": ("left", "l", "links", "linke", "linker", "linkes", "gauche", "izquierda", "izquierdo", "sinistra",
             "sinistro", "linkerkant", "lh"),
    "right": ("right", "r", "rechts", "rechte", "rechter", "rechtes", "droite", "droit", "derecha", "derecho", "destra",
              "destro", "rechterkant", "rh"),
}  # fmt: skip
ASYMMETRIC = 12.7  # mm (1/2 in): what differs by more is another shape on purpose
MOST_WAYS = 12  # to lay one piece on another so that as many corners coincide
COINCIDE = 0.5  # mm: corners this near are the same corner when one piece lies on the other


def _mirror_pair(context: Context) -> Iterator[Observation | Skip]:
    from seamcheck.geometry.curve import Affine

    pairs = list(_pairs(context))
    if not pairs:
        yield Skip(reason="no-pair", why="no two pieces are called left and right of the same thing")
    for left, right in pairs:
        facts: dict[str, Fact] = {"left": Name(left.name), "right": Name(right.name)}
        names = (left.name, right.name)
        if left.line != right.line or min(len(left.corners), len(right.corners)) < 2:
            yield Skip(
                reason="not-comparable",
                why=phrase("{left} and {right} have no lines that can be laid on one another", **facts),
            )
            continue
        mirror = Affine.from_matrix(-1, 0, 0, 1, 0, 0)
        off, at = _laid_on(left, right, mirror)
        if off > COINCIDE and _laid_on(left, right, Affine.identity())[0] <= COINCIDE:
            yield Observation(code="same-hand", at=left.outline.start, pieces=names, facts=facts)
            continue
        unlike = off > ASYMMETRIC
        yield Observation(
            code="unlike" if unlike else "differs",
            deviation=None if unlike else off,
            allowed=None if unlike else (0.0, 0.0),
            at=at,
            pieces=names,
            facts=facts | {"amount": Length(off)},
        )


def _pairs(context: Context) -> Iterator[tuple[Piece, Piece]]:
    """The pieces whose names are the same but for the words left and right."""
    sides: dict[tuple[str, str], Piece] = {}
    for piece in context.pieces.values():
        words = re.findall(r"[^\W\d_]+|\d+", re.sub(r"(?<=[a-zäöüß])(?=[A-Z])", " ", piece.in_file).casefold())
        for side, names in SIDE_WORDS.items():
            if len(words) > 1 and sum(word in names for word in words) == 1:
                rest = " ".join(word for word in words if word not in names)
                sides.setdefault((side, rest), piece)
    for (side, rest), piece in sides.items():
        if side == "left" and ("right", rest) in sides:
            yield piece, sides["right", rest]


def _laid_on(left: Piece, right: Piece, turn: Affine) -> tuple[float, complex]:
    """How far the outlines of two pieces part at most when one is laid on the other so that most corners coincide, and where on
    the left one."""
    import numpy as np

    from seamcheck.geometry.curve import Affine

    here = np.array([corner.at for corner in left.corners])
    there = np.asarray(turn.apply(np.array([corner.at for corner in right.corners])))
    if turn.mirrors:
        there = there[::-1]
    ways: dict[tuple[complex, complex], tuple[tuple[float, float], Affine]] = {}
    for a, b in zip(here, np.roll(here, -1), strict=True):
        for c, d in zip(there, np.roll(there, -1), strict=True):
            if a == b or c == d:
                continue
            heading = complex((b - a) / (d - c))
            heading /= abs(heading)
            for anchor, to in ((c, a), (d, b)):
                shift = complex(to - heading * anchor)
                key = complex(np.round(heading, 6)), complex(np.round(shift, 3))
                if key not in ways:
                    ways[key] = _score(here, heading * there + shift), Affine(heading, 0j, shift)
    least = min(score for score, _ in ways.values())
    # A square lies on another in four ways; which is meant, only its sides can tell.
    laid = [
        right.outline.transformed(way @ turn) for score, way in ways.values() if score <= (least[0], least[1] + 0.01)
    ]
    return min((_parted(left.outline, one) for one in laid[:MOST_WAYS]), key=lambda one: one[0])


def _parted(one: Curve, other: Curve) -> tuple[float, complex]:
    """How far two lines part at most, in mm, and where."""
    from seamcheck.geometry.distances import farthest

    there, station = farthest(one, other)
    back, way_back = farthest(other, one)
    return (there, one.point(station)) if there >= back else (back, other.point(way_back))


def _score(here: npt.NDArray[np.complex128], laid: npt.NDArray[np.complex128]) -> tuple[float, float]:
    """How badly two sets of corners coincide: how many do not, then how far they miss in all."""
    import numpy as np

    apart = np.abs(here[:, None] - laid[None, :])
    nearest = np.concatenate([apart.min(axis=0), apart.min(axis=1)])
    return float(np.count_nonzero(nearest > COINCIDE)), round(float(nearest.sum()), 6)


MIRROR_PAIR = Check(
    name="mirror-pair",
    family="shapes",
    meaning="left and right pieces are each other's mirror image",
    why="Where both hands are drawn, an alteration is easily made on one of them only: the garment then hangs or closes crooked.",
    remedy="Lay one on the other face to face with the edges that were not altered on each other, and carry the change over.",
    source="left and right copies agree; a fly extension or an asymmetric style differs on purpose: common practice, no source; what "
    "differs by more than 1/2 in is taken for meant: our own limit",
    tolerance=1.6,
    unit=Unit.LENGTH,
    codes=(
        Code(
            name="differs",
            meaning="laid on one another, the two outlines part",
            message="{left} and {right}: laid on each other face to face, their outlines part by up to {amount}.",
            advice="Find which of the two was altered and carry the change over to the other, or take it back.",
            facts=("left", "right", "amount"),
        ),
        Code(
            name="same-hand",
            meaning="both pieces are drawn for the same hand",
            message="{left} and {right} are the same piece; neither is the mirror image of the other.",
            advice="Turn one of the two over in the drawing program; cut like that, the garment gets two of one hand.",
            facts=("left", "right"),
            severity=Severity.WARNING,
        ),
        Code(
            name="unlike",
            meaning="the two pieces have different shapes, as in an asymmetric style",
            message="{left} and {right} part by up to {amount} when laid on each other; that was taken for meant.",
            advice="If the style is not asymmetric, compare the two edge by edge.",
            facts=("left", "right", "amount"),
            severity=Severity.NOTE,
        ),
    ),
    run=_mirror_pair,
)

CHECKS = (SQUARE_END, MIRROR_PAIR)
