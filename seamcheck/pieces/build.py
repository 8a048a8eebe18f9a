"""From shapes to pieces: corners and edges get the names the plan gives them, or numbers."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from fnmatch import fnmatchcase
from math import hypot
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from seamcheck.amounts import Length, Phrase, phrase
from seamcheck.errors import PlanError
from seamcheck.exact import least, snapped, snapped_point
from seamcheck.geometry.curve import Curve
from seamcheck.geometry.end_directions import AtCorner, directions_at, interior_angle
from seamcheck.geometry.exact_arrays import least_at
from seamcheck.geometry.kept import kept_together
from seamcheck.geometry.kinks import SMALLEST
from seamcheck.geometry.short_arrays import differences, rolled
from seamcheck.geometry.traced_length import all_traced
from seamcheck.pattern.drawing import Drawing, Note
from seamcheck.pattern.model import Corner, Edge, Pattern, Piece
from seamcheck.pieces.corner_names import assign_corners
from seamcheck.pieces.dart_lines import unplanned_darts
from seamcheck.pieces.edges import AT_CORNER, ON_INSIDE_LINE, edge_along, line_inside_piece, unnamed_edges
from seamcheck.pieces.mouths import darts_on, pleats_on
from seamcheck.pieces.notes import notes_on_lines
from seamcheck.pieces.outline import Shape, Sheet
from seamcheck.pieces.sparse_curves import uncertainties
from seamcheck.pieces.traced_edges import as_curves
from seamcheck.pieces.turned_sizes import corners_of_turned
from seamcheck.pieces.way_round import SAME_PLACE, Leg, Ring, all_corners, mouths_on, route

if TYPE_CHECKING:
    from seamcheck.pattern.plan import DartPlan, PiecePlan, Plan, PleatPlan
    from seamcheck.pieces.sew_line import AllowanceStretch

LEFT = 1.0  # mm: an edge of which no more is left on the sew line is no edge there
BESIDE_JOINT = 1.0  # mm: a named corner this near to a joint of the outline is that joint
LEG_END = 0.5  # mm: how near to the outline the leg of a dart ends on it
OFF_OUTLINE = 5.0  # mm: how far from the outline it must be for that line to be meant


def build_pattern(
    drawing: Drawing, sheet: Sheet, plan: Plan | None, *, line: str | None = None, allowance: float | None = None
) -> Pattern:
    """Name the corners and edges of every shape.

    `line` and `allowance` (mm) say what the outlines are where neither file nor plan does. PlanError when a plan
    piece fits several shapes of one size.
    """
    planned = _matched(sheet.shapes, plan)
    nests: dict[str, list[Shape]] = {}
    for shape in sheet.shapes:
        if (its_plan := planned.get((shape.size, shape.name))) is not None:
            nests.setdefault(its_plan.name, []).append(shape)
    marked = {name: _marked_in(nest, planned[nest[0].size, nest[0].name].corners) for name, nest in nests.items()}
    turned = {
        name: corners_of_turned(nest, planned[nest[0].size, nest[0].name].corners) for name, nest in nests.items()
    }
    orders = []
    for shape in sheet.shapes:
        piece_plan = planned.get((shape.size, shape.name))
        if piece_plan is not None:
            here = {name: shape.turn_points[k] for name, k in marked[piece_plan.name].items()}
            as_it_lies = turned[piece_plan.name].get(shape.size, {})
            piece_plan = replace(piece_plan, corners={**piece_plan.corners, **here, **as_it_lies})
        darts = [dart for dart in plan.darts if piece_plan and dart.piece == piece_plan.name] if plan else []
        pleats = [pleat for pleat in plan.pleats if piece_plan and pleat.piece == piece_plan.name] if plan else []
        orders.append(Order(shape, piece_plan, darts, pleats, line, allowance))
    pieces = []
    told: dict[str, list[Note]] = {}  # of the first size of each piece
    for order, piece in zip(orders, build_pieces(orders), strict=True):
        told[piece.name] = told.get(piece.name) or unplanned_darts(piece, order.shape, order.darts)
        if order.plan is None and plan and any(one.name == order.shape.name for one in plan.pieces):
            # The plan gives this name to a piece that the file calls otherwise: the two must not be taken for one another.
            piece = replace(piece, name=f"{order.shape.name} (of the file)")
        pieces.append(piece)
    notes = [
        *drawing.notes,
        *sheet.notes,
        *notes_on_lines(pieces),
        *(note for piece in pieces for note in piece.notes),
        *(note for notes_told in told.values() for note in notes_told),
    ]
    rank = {size: i for i, size in enumerate(sheet.sizes)}
    pieces.sort(key=lambda piece: rank[piece.size])
    return Pattern(
        path=drawing.path,
        name=(plan.name if plan and plan.name else drawing.name),
        format=drawing.format,
        units=drawing.units,
        y_down=drawing.y_down,
        sizes=sheet.sizes,
        pieces=tuple(pieces),
        open_outlines=sheet.open_outlines,
        notes=tuple(notes),
        scale=sheet.scale,
        ledger=sheet.ledger,
        unused=sheet.unused,
        second=drawing.second,
    )


def _marked_in(nest: Sequence[Shape], wanted: Mapping[str, complex]) -> dict[str, int]:
    """Which of the points that the sizes of a nest mark each of the plan's corners is, of those that are marked.

    The sizes mark the same corners in the same order, so a corner that the plan gives in one size is known in all of them.
    """
    if len(nest) < 2 or not nest[0].turn_points or len({len(size.turn_points) for size in nest}) > 1:
        return {}
    # The size that marks the most of them is the one that the plan gives. Its outline alone would not tell: a band
    # lies along that of every longer one.
    found = [_marked(wanted, size) for size in nest]
    most = max(found, key=lambda marked: (len(marked), -sum(marked.values())))
    base = nest[found.index(most)]
    return {
        name: least(range(len(base.turn_points)), key=lambda k: abs(base.turn_points[k] - wanted[name]))
        for name in most
    }


def _marked(wanted: Mapping[str, complex], size: Shape) -> dict[str, float]:
    """Which corners of the plan a size marks, and how near."""
    off = np.abs(np.array(size.turn_points)[:, None] - np.array(list(wanted.values()))).min(axis=0).tolist()
    return {name: distance for name, distance in zip(wanted, off, strict=True) if distance <= SAME_PLACE}


def _matched(shapes: Sequence[Shape], plan: Plan | None) -> dict[tuple[str, str], PiecePlan]:
    """Which shape of which size is which piece of the plan."""
    found: dict[tuple[str, str], PiecePlan] = {}
    if plan is None:
        return found
    for size in dict.fromkeys(shape.size for shape in shapes):
        names = [shape.name for shape in shapes if shape.size == size]
        for piece in plan.pieces:
            wanted = piece.in_file.casefold()
            hits = [name for name in names if name.casefold() == wanted]
            hits = hits or [name for name in names if fnmatchcase(name.casefold(), wanted)]
            if len(hits) > 1:
                raise PlanError(
                    f'in-file = "{piece.in_file}" fits {len(hits)} pieces of the file ({", ".join(hits)})',
                    path=plan.path,
                    place=piece.place,
                    remedy="write the name of one of them",
                )
            if hits:
                found[size, hits[0]] = piece
    return found


class Order(NamedTuple):
    """A shape to name the corners and edges of; `line` and `allowance` (mm) are for outlines that say neither themselves."""

    shape: Shape
    plan: PiecePlan | None
    darts: Sequence[DartPlan]
    pleats: Sequence[PleatPlan]
    line: str | None = None
    allowance: float | None = None


class _Laid(NamedTuple):
    """A piece with named corners and edges, before what is measured at them: all of its corners, and those that a plan named."""

    piece: Piece
    shape: Shape
    ring: Ring
    places: list[tuple[str, float]]  # clockwise
    named: set[str]

    def corners(self) -> list[tuple[Curve, tuple[float, float], tuple[float, float]]]:
        """The outline with the ends of the two stretches that meet, for each corner."""
        ends = [station for _, station in self.places]
        ways = list(zip(ends, [*ends[1:], *ends[:1]], strict=True))
        return [(self.ring.curve, ways[k - 1], way) for k, way in enumerate(ways)]


def build_piece(order: Order) -> Piece:
    """Name the corners and edges of one shape."""
    return build_pieces([order])[0]


def build_pieces(orders: Sequence[Order]) -> list[Piece]:
    """Name the corners and edges of shapes; the angles of all corners, and the noise of all edges, are measured together."""
    laid = [_laid(*order) for order in orders]
    traced = iter(
        all_traced([run for one in laid for edge in one.piece.edges if not edge.inside for run in edge.runs])
    )
    edges = [as_curves(one.piece.edges, traced) for one in laid]
    pieces = [replace(one.piece, edges=mine) for one, mine in zip(laid, edges, strict=True)]
    angles = iter(
        _directions([(*at, piece.noise) for one, piece in zip(laid, pieces, strict=True) for at in one.corners()])
    )
    return [replace(piece, corners=_corners(one, angles)) for one, piece in zip(laid, pieces, strict=True)]


def _laid(
    shape: Shape,
    plan: PiecePlan | None,
    darts: Sequence[DartPlan],
    pleats: Sequence[PleatPlan],
    line: str | None,
    allowance: float | None,
) -> _Laid:
    line = (plan.line if plan and plan.line else None) or (line if shape.line == "unknown" else None) or shape.line
    if shape.other is not None:
        line = "sew"
    ring = _ring(shape)
    named: dict[str, float] = {}
    inside: dict[str, tuple[int, float]] = {}
    unsure: dict[str, Phrase] = {}
    if plan and plan.corners:
        named, inside, unsure = _place_corners(plan.corners, shape, legs=bool(darts or pleats))
    drawn = shape.other if shape.other is not None else shape.outline
    notes: tuple[Note, ...] = ()
    swallowed: dict[str, Phrase] = {}
    if line == "cut" and shape.other is None:
        from seamcheck.pieces.allowances import on_sew_line

        cut, on_cut = ring, named
        shape, named, notes = on_sew_line(shape, plan, named, inside, darts, pleats, allowance)
        ring = _ring(shape)
        if plan and ring.curve is not cut.curve:
            swallowed = _swallowed(plan, (cut, on_cut), (ring, named))
    places = all_corners(ring, shape.corners, named)
    folded: list[DartPlan | PleatPlan] = [*darts, *pleats]
    folded_away = {name for one in folded for name in one.corners}
    inside_tips = {dart.corners[1] for dart in darts} & set(inside)
    mouths = mouths_on(ring, folded, named)
    edges: list[Edge] = []
    lost: dict[str, Phrase] = {}
    covered: list[Leg] = []
    for name, way in (plan.edges if plan else {}).items():
        missing = [corner for corner in way if corner in unsure]
        if missing:
            lost[name] = unsure[missing[0]]
            continue
        if name in swallowed:
            lost[name] = swallowed[name]
            left = route(ring, way, named)
            covered += [] if isinstance(left, Phrase) else left
            continue
        # The tip of a dart that is drawn inside is on no edge; walking skips the mouth on the outline.
        way = tuple(corner for corner in way if corner not in inside_tips)
        if any(corner in inside for corner in way):
            line_inside = line_inside_piece(way, shape, inside, {n: ring.curve.point(s) for n, s in named.items()})
            if isinstance(line_inside, Phrase):
                lost[name] = line_inside
                continue
            edge = Edge(name=name, start=way[0], end=way[-1], runs=(line_inside,), named=True, inside=True)
        else:
            legs = route(ring, way, {n: s for n, s in named.items() if n not in folded_away or n in way})
            if isinstance(legs, Phrase):
                lost[name] = legs
                continue
            covered += legs
            edge = edge_along(ring, shape, name, way[0], way[-1], legs, mouths, places, named=True)
        edges.append(edge)
    edges += unnamed_edges(ring, shape, places, covered, mouths)
    piece = Piece(
        name=plan.name if plan else shape.name,
        in_file=shape.name,
        size=shape.size,
        line=line,
        outline=ring.curve,
        drawn=drawn,
        corners=(),
        edges=tuple(edges),
        y_down=shape.y_down,
        grainlines=shape.grainlines,
        darts=tuple(darts_on(ring, shape, darts, named, inside)),
        pleats=tuple(pleats_on(ring, shape, pleats, named)),
        folds=shape.folds,
        inside=shape.inside,
        drill_holes=shape.drill_holes,
        stray_notches=shape.stray_notches,
        gap=shape.gap,
        labels=shape.labels,
        texts=shape.texts,
        reasons=shape.reasons,
        unsure=unsure,
        lost_edges=lost,
        swallowed=frozenset(swallowed) & frozenset(lost),
        notes=notes,
        place=shape.place,
        members=shape.members,
        fold_places=shape.fold_places,
        hole_places=shape.hole_places,
    )
    return _Laid(piece, shape, ring, sorted(places.items(), key=lambda item: item[1]), set(named))


def _ring(shape: Shape) -> Ring:
    return Ring(shape.outline, shape.smoothed.in_file() if shape.smoothed is not None else None)


def _swallowed(
    plan: PiecePlan, cut: tuple[Ring, Mapping[str, float]], sew: tuple[Ring, Mapping[str, float]]
) -> dict[str, Phrase]:
    """The edges that the allowances leave nothing of: both their ends came to lie on one point of the sew line; with why."""
    found = {}
    for name, way in plan.edges.items():
        first, last = way[0], way[-1]
        if first == last or not all(corner in stations for corner in (first, last) for _, stations in (cut, sew)):
            continue
        before, after = (
            abs(ring.curve.point(stations[last]) - ring.curve.point(stations[first])) for ring, stations in (cut, sew)
        )
        if after <= LEFT < before:
            why = phrase(
                "the allowances of the edges beside it meet above it, so that of {amount} on the cut line nothing is left to be sewn",
                amount=Length(before),
            )
            found[name] = why
    return found


def on_its_sew_line(
    shape: Shape,
    plan: PiecePlan,
    darts: Sequence[DartPlan],
    pleats: Sequence[PleatPlan],
    allowance: float | None,
) -> tuple[Shape, tuple[AllowanceStretch, ...]]:
    """A shape that is drawn on the cut line as it is on its sew line, and the stretches of cut line with their allowances.

    As `build_piece` takes it; the shape itself where no allowance is known.
    """
    from seamcheck.pieces.allowances import allowance_stretches, on_sew_line

    named, inside, _ = _place_corners(plan.corners, shape, legs=bool(darts or pleats))
    stretches = allowance_stretches(shape, plan, named, darts, pleats, allowance)
    return on_sew_line(shape, plan, named, inside, darts, pleats, allowance)[0], stretches


def _place_corners(
    wanted: Mapping[str, complex], shape: Shape, *, legs: bool
) -> tuple[dict[str, float], dict[str, tuple[int, float]], dict[str, Phrase]]:
    """Where the plan's corners are: on the outline, on lines inside the piece, or not surely anywhere."""
    inside = {
        name: hit
        for name, at in wanted.items()
        if (hit := _on_inside_line(at, shape, ON_INSIDE_LINE)) and shape.outline.nearest(at).distance > OFF_OUTLINE
    }
    on_outline = {name: at for name, at in wanted.items() if name not in inside}
    corners = [*shape.corners, *_ends_on(shape)] if legs else shape.corners
    assigned = assign_corners(on_outline, shape.outline, corners)
    unsure = dict(assigned.unsure)
    for name in list(unsure):
        # In a file that moved or changed, a dart tip is looked for where the rest of the piece says it should be.
        at = assigned.fit.apply(on_outline[name])
        hit = _on_inside_line(at, shape, 10 * ON_INSIDE_LINE)
        if hit and shape.outline.nearest(at).distance > OFF_OUTLINE:
            inside[name] = hit
            del unsure[name]
    return _at_joints(assigned.stations, shape.outline), inside, unsure


def _at_joints(stations: Mapping[str, float], outline: Curve) -> dict[str, float]:
    """The stations of named corners, each moved to the joint beside it at which the outline turns.

    Rounded coordinates land beside the joint that they name, where the line is smooth. Joints closer to one another than ten
    times that are the vertices of a traced line.
    """
    total, found = outline.length, dict(stations)
    joints, turns = outline.joint_stations[1:], np.abs(outline.joint_turns())
    lengths = differences(outline.joint_stations)
    reach = np.minimum(BESIDE_JOINT, np.minimum(lengths, rolled(lengths)) / 10)
    taken = {snapped(station % total) for station in stations.values()}
    for name, station in stations.items():
        off = np.abs((joints - station + total / 2) % total - total / 2)
        near = np.flatnonzero((off <= reach) & (turns >= SMALLEST))
        if len(near):
            joint = float(joints[near[least_at(off[near])]]) % total
            if snapped(joint) not in taken:
                taken.add(snapped(joint))
                found[name] = joint
    return found


def _ends_on(shape: Shape) -> list[float]:
    """Where lines inside a piece end on its outline, as the legs of a dart and the folds of a pleat do: corners without a turn."""
    stations = list(shape.corners)
    total = shape.outline.length
    for line in (*shape.folds, *shape.internals):
        for end in () if line.is_closed else (line.start, line.end):
            near = shape.outline.nearest(end)
            apart = [min((near.station - one) % total, (one - near.station) % total) for one in stations]
            if near.distance <= LEG_END and min(apart, default=total) > SAME_PLACE:
                stations.append(near.station % total)
    return stations[len(shape.corners) :]


def _on_inside_line(at: complex, shape: Shape, reach: float) -> tuple[int, float] | None:
    hits = []
    for index, line in enumerate(shape.internals):
        near = line.nearest(at)
        if near.distance <= reach:
            ends = np.array([0.0, line.length, *line.joint_stations[1:-1]])
            apart = np.abs(np.array([line.start, line.end, *line.segments[1:, 0]]) - at)
            snap = least_at(apart)
            station = float(ends[snap]) if apart[snap] <= reach else near.station
            hits.append((near.distance, index, station))
    return min(hits)[1:] if hits else None


def _corners(laid: _Laid, angles: Iterator[AtCorner]) -> tuple[Corner, ...]:
    ring, shape = laid.ring, laid.shape
    at = [ring.curve.point(station) for _, station in laid.places]
    coarse = uncertainties(at, shape.coarse)
    corners = []
    for k, (name, station) in enumerate(laid.places):
        angle = next(angles)
        corners.append(
            Corner(
                name,
                snapped_point(at[k]),
                interior_angle(angle.before, angle.after, shape.y_down),
                station,
                name in laid.named,
                sum(notch.count for notch in shape.notches if _beside(ring, station, notch.station) <= AT_CORNER),
                snapped(hypot(angle.uncertainty, coarse[k])),
            )
        )
    return tuple(corners)


@kept_together
def _directions(asked: Sequence[tuple[Curve, tuple[float, float], tuple[float, float], float]]) -> list[AtCorner]:
    """The directions at corners between two stretches of an outline, each given by the stations of its ends, and the noise of the piece."""
    return directions_at(
        [(Ring(outline).stretch(*coming), Ring(outline).stretch(*going)) for outline, coming, going, _ in asked],
        [noise for *_, noise in asked],
    )


def _beside(ring: Ring, one: float, other: float) -> float:
    """How far apart two stations are, the shorter way round."""
    return min(ring.ahead(one, other), ring.ahead(other, one))
