"""One side alone altered: the piece is cut as two, the one as it is altered, the other its mirror image as it was.

split    the pieces that change and are cut as a pair: the file has both then, each cut once, and the plan a name for each
copy     the other side of such a piece, laid beside all that is drawn
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from seamcheck.altering.run import AlteredFile
from seamcheck.errors import SeamcheckError
from seamcheck.geometry.curve import Affine, Curve
from seamcheck.pattern.drawing import LineMark, PointMark, Role, drawn_marks
from seamcheck.pattern.plan import AcceptedPlan, DartPlan, EdgeUse, PiecePlan, Plan, PleatPlan, SeamPlan
from seamcheck.pieces.outline import Shape
from seamcheck.truing.edits import Edit

BESIDE = 30.0  # mm between the sheet and a piece that is laid beside it
OTHER = {"left": "right", "right": "left"}
HOLE = 2.0  # mm: the radius of a drill hole that is drawn anew


@dataclass(frozen=True, slots=True)
class OtherSide:
    """The side of a piece that is not altered: what the file calls it, its shape as it was, and where it is laid, mirrored."""

    piece: str
    in_file: str
    shape: Shape
    laid: Affine
    corners: Mapping[str, complex]  # of the plan, where they are in the file as it was

    @property
    def lines(self) -> tuple[tuple[str, Curve], ...]:
        """All that is drawn of it: what each line is called, and where it is laid."""
        shape = self.shape
        outlines = [(_role(shape.members, Role.OUTLINE), shape.outline)]
        if shape.other is not None:
            outlines.append((_role(shape.other_members, Role.CUT), shape.other))
        found = [*outlines, *((Role.NOTCH, Curve.line(*tick)) for notch in shape.notches for tick in notch.ticks)]
        found += [(Role.GRAIN, Curve.polyline(grain.points)) for grain in shape.grainlines]
        found += [(Role.FOLD, line) for line in shape.folds]
        found += [(line.role or Role.INTERNAL, line.curve) for line in shape.inside]
        found += [(Role.DRILL, Curve.arc(hole, HOLE)) for hole in shape.drill_holes]
        return tuple((str(role), curve.transformed(self.laid)) for role, curve in found)

    @property
    def middle(self) -> complex:
        """A place amid it, for its name."""
        return complex(self.laid.apply(amid(self.shape)))


def amid(shape: Shape) -> complex:
    """The middle of a shape's bounds."""
    x0, y0, x1, y1 = shape.outline.bounds()
    return complex(x0 + x1, y0 + y1) / 2


def _role(members: Sequence[LineMark], default: Role) -> Role:
    return next((mark.role for mark in members if mark.role is not None), default)


def split_pieces(altered: AlteredFile, only: str) -> tuple[str, ...]:
    """The pieces that are cut as two then; SeamcheckError, with what to do, where one that changes has no other side."""
    plan = altered.reading.plan
    assert plan is not None
    if len(altered.sizes) > 1:
        raise SeamcheckError(
            "one side alone is written of one size at a time, since both sides of every size would lie on one another",
            path=altered.path,
            remedy="take one out of the nest with --size, and write it as a CAD drawing or an SVG",
        )
    (size,) = altered.sizes
    changed = tuple(name for name, shape in size.before.shapes.items() if size.after.shapes[name] is not shape)
    for name in changed:
        piece = next((one for one in plan.pieces if one.name == name), None)
        if piece is None or piece.fold or piece.cut != "pair":
            how = (
                "is drawn as half of what is cut on a fold"
                if piece is not None and piece.fold
                else "is not cut as a pair"
            )
            raise SeamcheckError(
                f"{name} changes too and {how}, so it has no {OTHER[only]} side of its own in the plan",
                path=altered.path,
                remedy=f'draw it whole and say cut = "pair", or alter the {only} side with --leave and see to {name} by hand',
            )
    return changed


def other_sides(altered: AlteredFile, only: str) -> tuple[OtherSide, ...]:
    """The other side of each piece that is split, mirrored and laid to the right of all that is drawn, one beside the other."""
    names, size = split_pieces(altered, only), altered.sizes[0]
    x = max(shape.outline.bounds()[2] for state in (size.before, size.after) for shape in state.shapes.values())
    found = []
    for name in names:
        shape = size.before.shapes[name]
        drawn = [shape.outline, *([shape.other] if shape.other is not None else [])]
        low, high = min(one.bounds()[0] for one in drawn), max(one.bounds()[2] for one in drawn)
        laid = Affine(0j, -1 + 0j, complex(x + BESIDE + high))
        found.append(OtherSide(name, f"{shape.name} {OTHER[only]}", shape, laid, size.before.plans[name].corners))
        x += BESIDE + high - low
    return tuple(found)


def edits_of(sides: Sequence[OtherSide]) -> Iterator[Edit]:
    """The lines of the other sides as edits that take nothing away, each drawn like the line that it is the mirror image of."""
    for side in sides:
        shape = side.shape
        groups = [(shape.outline, shape.members)]
        if shape.other is not None:
            groups.append((shape.other, shape.other_members))
        for curve, members in groups:
            like = max(members, key=lambda mark: mark.curve.length)
            yield Edit(piece=side.piece, old=(), new=((curve.transformed(side.laid), like),))
        own = {id(mark) for _, members in groups for mark in members}
        for mark in (one for whole in shape.marks for one in drawn_marks(whole) if id(one) not in own):
            if isinstance(mark, LineMark):
                yield Edit(piece=side.piece, old=(), new=((mark.curve.transformed(side.laid), mark),))
            elif isinstance(mark, PointMark):
                to = complex(side.laid.apply(mark.at))
                yield Edit(piece=side.piece, old=(), new=(), added=((mark, to),))


def split_plan(plan: Plan, sides: Sequence[OtherSide], only: str) -> Plan:
    """The plan with each split piece as two, cut once each, and the seams of both."""
    names = {side.piece: {only: f"{side.piece}-{only}", OTHER[only]: f"{side.piece}-{OTHER[only]}"} for side in sides}
    laid = {side.piece: side for side in sides}
    pieces: list[PiecePlan] = []
    for piece in plan.pieces:
        if piece.name not in names:
            pieces.append(piece)
            continue
        side = laid[piece.name]
        was = {name: complex(side.laid.apply(at)) for name, at in side.corners.items()}
        pieces.append(replace(piece, name=names[piece.name][only], cut="one"))
        other = replace(piece, name=names[piece.name][OTHER[only]], in_file=side.in_file, cut="one", corners=was)
        pieces.append(other)
    return replace(
        plan,
        pieces=tuple(pieces),
        darts=tuple(_each(plan.darts, names)),
        pleats=tuple(_each(plan.pleats, names)),
        seams=tuple(one for seam in plan.seams for one in _seams(seam, names, only)),
        shaped=tuple(
            replace(one, corner=(name, one.corner[1]))
            for one in plan.shaped
            for name in (names[one.corner[0]].values() if one.corner[0] in names else [one.corner[0]])
        ),
        accepted=tuple(_each(plan.accepted, names)),
    )


Part = TypeVar("Part", DartPlan, PleatPlan, AcceptedPlan)


def _each(parts: Iterable[Part], names: Mapping[str, Mapping[str, str]]) -> Iterator[Part]:
    """What the plan says of a piece that is split, said of both."""
    for one in parts:
        if one.piece is not None and one.piece in names:
            yield from (replace(one, piece=name) for name in names[one.piece].values())
        else:
            yield one


def _seams(seam: SeamPlan, names: Mapping[str, Mapping[str, str]], only: str) -> Iterator[SeamPlan]:
    """A seam of both sides: one to the other where a piece was sewn to its own twin, else a seam for each."""

    def side(uses: Sequence[EdgeUse], which: str) -> tuple[EdgeUse, ...]:
        return tuple(replace(use, piece=names[use.piece][which]) if use.piece in names else use for use in uses)

    first, second = seam.sides
    if not any(use.piece in names for use in (*first, *second)):
        yield seam
    elif first == second:
        yield replace(seam, sides=(side(first, only), side(second, OTHER[only])))
    else:
        for which in (only, OTHER[only]):
            yield replace(seam, name=f"{seam.name}-{which}", sides=(side(first, which), side(second, which)))
