"""Checks along one edge: kinks, steps, flat spots, and straight folds."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from seamcheck.amounts import Angle, Fact, Length, Listed, Name, PlainAngle, Unit, phrase
from seamcheck.checks.base import Check, Code, Context, LookedAt, Observation, Skip
from seamcheck.checks.places import along, shape
from seamcheck.exact import most
from seamcheck.geometry.kept import kept, kept_together
from seamcheck.pattern.subject import Subject

if TYPE_CHECKING:
    from seamcheck.geometry.curve import Curve
    from seamcheck.geometry.kinks import Blemish
    from seamcheck.pattern.model import Edge, Piece

FARTHEST = 4.0  # times its noise lies the farthest vertex of a traced line beside the line between its ends, which are off too
KINK_TOLERANCE = 3.5  # degrees
STEP_TOLERANCE = 1.6  # mm: 1/16 in
SMOOTH = 20.0  # degrees: a named corner that turns by no more lies on a line that is meant to run on
FOLD_TOLERANCE = 0.8  # mm: half of 1/16 in, however long the fold
MEANT = 60.0  # degrees: nobody slips so far: a turn as sharp is a corner that somebody meant


def _edge_blend(context: Context) -> Iterator[Observation | LookedAt | Skip]:
    context.once("blemishes", lambda: _blemishes(_asked(context.pieces_together())))
    for piece in context.pieces.values():
        found = iter(_blemishes(_asked([piece])))
        for edge in piece.edges:
            offset = 0.0
            for _ in edge.runs:
                for part, blemishes in next(found):
                    for one in blemishes:
                        yield from _observed(one, piece, edge, part.point(one.station), offset + one.station)
                    offset += part.length
        yield from _at_corners(context, piece)
        yield LookedAt(piece=piece.name)


def _asked(pieces: Iterable[Piece]) -> list[tuple[Curve, tuple[float, ...], float]]:
    """The runs of all edges of pieces, each with the stations at which it is cut, and the noise of the piece.

    A corner that the plan names is meant: the line is looked at on either side of it, never across.
    """
    from seamcheck.geometry.kinks import AT_END

    asked: list[tuple[Curve, tuple[float, ...], float]] = []
    for piece in pieces:
        deliberate = {corner.name for corner in piece.corners if corner.named}
        for edge in piece.edges:
            offset = 0.0
            for run in edge.runs:
                named = [station - offset for name, station in edge.inner if name in deliberate]
                cuts = tuple(at for at in named if AT_END < at < run.length - AT_END)
                asked.append((run, cuts, piece.noise))
                offset += run.length
    return asked


@kept_together
def _blemishes(asked: Sequence[tuple[Curve, tuple[float, ...], float]]) -> list[list[tuple[Curve, list[Blemish]]]]:
    """The parts of lines between cuts, each with what was found on it."""
    from seamcheck.geometry.kinks import all_blemishes

    parts = [run.split(*cuts) if cuts else (run,) for run, cuts, _ in asked]
    noises = [noise for mine, (*_, noise) in zip(parts, asked, strict=True) for _ in mine]
    found = iter(all_blemishes([part for mine in parts for part in mine], noises))
    return [[(part, next(found)) for part in mine] for mine in parts]


def _at_corners(context: Context, piece: Piece) -> Iterator[Observation]:
    """How far the outline turns at named corners that lie on a smooth line, where no junction judges that."""
    meant = {name for dart in piece.darts for name in dart.corners}
    meant.update(name for pleat in piece.pleats for name in pleat.corners)
    judged = {name for one in context.graph.junctions for name in one.names}
    judged.update(name for names, _ in context.graph.unjudged for name in names)
    shaped = {one.corner for one in context.plan.shaped} if context.plan else set()
    for corner in piece.corners:
        turn = 180.0 - corner.angle
        beside = [
            edge for edge in piece.edges if corner.name in (edge.start, edge.end, *(name for name, _ in edge.inner))
        ]
        if (
            not corner.named
            or corner.name in meant
            or (piece.name, corner.name) in shaped
            or f"{piece.name}.{corner.name}" in judged
            or abs(turn) > SMOOTH
            or not beside
            or _ruled_on_both_sides(piece.outline, corner.station)
        ):
            continue
        names = tuple(f"{piece.name}.{edge.name}" for edge in beside)
        yield Observation(
            code="corner",
            deviation=turn,
            uncertainty=corner.uncertainty,
            allowed=(0.0, 0.0),
            at=corner.at,
            pieces=(piece.name,),
            edges=names,
            facts={
                "corner": Name(f"{piece.name}.{corner.name}"),
                "edges": Listed(tuple(map(Name, names))),
                "turn": Angle(abs(turn)),
                "shape": shape(turn),
            },
        )


@kept
def _ruled_on_both_sides(outline: Curve, station: float) -> bool:
    """Whether two ruled lines meet at a station: a corner, however little it turns."""
    from seamcheck.geometry.end_directions import SHORT_CHORD, straight

    total = outline.length
    at = [outline.locate((station + way * 0.01) % total)[0] for way in (-1.0, 1.0)]
    beside = outline.segments[at]
    return bool(straight(beside).all() and (abs(beside[:, 3] - beside[:, 0]) > SHORT_CHORD).all())


def _observed(found: Blemish, piece: Piece, edge: Edge, at: complex, station: float) -> Iterator[Observation | Skip]:
    from seamcheck.geometry.kinks import Flat, Kink

    facts: dict[str, Fact] = along(piece, edge, station)
    if isinstance(found, Kink):
        code, deviation = "kink", _outward(found.turn, piece, edge)
        if abs(deviation) >= MEANT:
            yield _meant(piece, edge, facts, deviation)
            return
        facts |= {"turn": Angle(abs(deviation)), "shape": shape(deviation)}
    elif isinstance(found, Flat):
        code, deviation = "flat", _outward(most(found.turns, key=abs), piece, edge)
        first, last = (Angle(abs(turn)) for turn in found.turns)
        if abs(deviation) >= MEANT:
            yield _meant(piece, edge, facts, deviation)
            return
        facts |= {
            "length": Length(found.length),
            "first": first,
            "last": last,
            "depth": Length(found.depth),
            "shape": shape(deviation),
        }
    else:
        code, deviation = "step", found.jog
        facts |= {"amount": Length(found.jog)}
    yield Observation(
        code=code,
        deviation=deviation,
        allowed=(0.0, 0.0),
        at=at,
        pieces=(piece.name,),
        edges=(f"{piece.name}.{edge.name}",),
        facts=facts,
    )


def _meant(piece: Piece, edge: Edge, facts: Mapping[str, Fact], turn: float) -> Skip:
    why = phrase(
        "it turns by {turn}, {distance} from {end}, which was taken for a corner that is meant",
        turn=PlainAngle(abs(turn)),
        distance=facts["distance"],
        end=facts["end"],
    )
    return Skip(reason="meant", why=why, piece=piece.name, edge=edge.name)


def _outward(turn: float, piece: Piece, edge: Edge) -> float:
    """A turn as seen from outside the piece: positive makes a bump, negative a dip."""
    clockwise = turn if piece.y_down else -turn
    return clockwise if edge.forward else -clockwise


EDGE_BLEND = Check(
    name="edge-blend",
    family="edges",
    meaning="no edge has a kink, step or flat spot inside it that a hand-blended line would not have",
    why="A slash with a hinge leaves a kink at the hinge and a step where the paper was overlapped or spread. Sewn, a kink "
    "shows as a peak or a dent in the seam, and it shifts the length that the mate has to match.",
    remedy="Redraw the line between the nearest marks that stay (a notch or a corner; from crotch point to knee) with a curve, so that "
    "it touches the old line at both ends; do not disturb a point that already matches its mate.",
    source="altered edges are joined with a new line: Central Washington University, costume text ch. 17; blend between "
    "the nearest marks that stay: common practice, no source; tolerance by geometry: 3.5° is 1/16 in, one inch from the kink",
    tolerance=KINK_TOLERANCE,
    unit=Unit.ANGLE,
    codes=(
        Code(
            name="kink",
            meaning="the line changes direction at once",
            message="{edge} has a kink of {turn}, {distance} from {end}: it makes {shape} instead of running on.",
            advice="Blend it with a curve from the nearest notch or corner on one side to the nearest on the other, and keep the length.",
            facts=("edge", "turn", "distance", "end", "shape"),
        ),
        Code(
            name="step",
            meaning="the line jumps sideways",
            message="{edge} has a step of {amount}, {distance} from {end}.",
            advice="Redraw the line across the step between the nearest marks that stay, a notch or a corner, then walk the seam again.",
            facts=("edge", "amount", "distance", "end"),
            tolerance=STEP_TOLERANCE,
            unit=Unit.LENGTH,
        ),
        Code(
            name="flat",
            meaning="the line runs dead straight between two kinks to the same side",
            message="{edge} has a flat spot, {distance} from {end}: it is ruled for {length} between two kinks of {first} and "
            "{last} and makes {shape} instead of running on.",
            advice="A spread slash was bridged with a ruler there. Lay a curve along the line on both sides and carry it across; "
            "in the middle it lies {depth} beside the ruled line. Then walk the seam again.",
            facts=("edge", "distance", "end", "length", "first", "last", "shape", "depth"),
        ),
        Code(
            name="corner",
            meaning="the line changes direction at a named corner where it should run on and no seam ends",
            message="At the corner {corner} the line of {edges} has a kink of {turn}: it makes {shape} instead of running on.",
            advice="Blend the line through {corner} with a curve from the nearest mark on one side to the nearest on the other. "
            "If the corner is meant, name it under [[shaped]] in the plan.",
            facts=("edges", "turn", "corner", "shape"),
        ),
    ),
    run=_edge_blend,
)


def folds(context: Context) -> Iterator[tuple[Piece, str, Curve]]:
    """The fold lines of every piece: the plan's fold edge, else the fold lines the file draws."""
    for piece in context.pieces.values():
        plan = next((p for p in context.plan.pieces if p.name == piece.name), None) if context.plan else None
        if plan is not None and plan.fold is not None:
            edge = next((edge for edge in piece.edges if edge.name == plan.fold), None)
            if edge is not None:
                yield piece, edge.name, edge.runs[0]
        else:
            for fold in piece.folds:
                yield piece, "fold line", fold


def _fold_straight(context: Context) -> Iterator[Observation | Skip]:
    for piece in context.plan.pieces if context.plan else ():
        drawn = context.pieces.get(piece.name)
        if piece.fold and drawn and piece.fold in drawn.lost_edges:
            yield Skip(reason="edge-unsure", why=drawn.lost_edges[piece.fold], piece=piece.name, edge=piece.fold)
    lines = list(folds(context))
    if not lines and not (context.plan and any(piece.fold for piece in context.plan.pieces)):
        yield Skip(reason="no-folds", why="no piece has a fold edge or a fold line")
    for owner, name, curve in lines:
        off, at = bow(curve)
        line = next((number for number, fold in enumerate(owner.folds) if fold is curve), None)
        yield Observation(
            code="bowed",
            deviation=off,
            uncertainty=FARTHEST * owner.noise,
            allowed=(0.0, 0.0),
            at=at,
            subject=None if line is None else Subject.drawn("fold", owner.name, line),
            pieces=(owner.name,),
            edges=(f"{owner.name}.{name}",) if name != "fold line" else (),
            facts={
                "piece": Name(owner.name),
                "fold": Name(name),
                "amount": Length(off),
                "length": Length(curve.length),
            },
        )


def bow(curve: Curve) -> tuple[float, complex]:
    """How far a curve bows out from the straight line between its ends, in mm, and where. Exact: bounds, not samples."""
    from seamcheck.geometry.curve import Affine

    chord = curve.end - curve.start
    if abs(chord) == 0.0:
        return curve.length, curve.start
    unit = chord / abs(chord)
    level = curve.transformed(Affine(unit.conjugate(), 0j, -curve.start * unit.conjugate()))
    _, low, _, high = level.bounds()
    off = max(high, -low)
    stations = level.joint_stations
    # Where it bows most is only to be pointed at, so the nearest joint or middle will do.
    looked_at = [*stations, *((stations[:-1] + stations[1:]) / 2)]
    at = most(looked_at, key=lambda s: abs(level.point(float(s)).imag))
    return float(off), curve.point(float(at))


FOLD_STRAIGHT = Check(
    name="fold-straight",
    family="edges",
    meaning="every fold edge is one straight line",
    why="A bent edge cannot be placed on a fold: the cloth folds straight, and the piece comes out wider or narrower than drawn.",
    remedy="Lay a ruler from end to end of the fold. If an alteration bent it, move the amount to a seam, or give the piece a "
    "seam there instead of a fold.",
    source="the fold lies on the straight grain and is one straight line: sew-i-do.blogspot.com (2013/01), Grain; tolerance by geometry: what a fold bows by is "
    "missing or too much twice over in the whole piece, so 1/32 in is 1/16 in there",
    tolerance=FOLD_TOLERANCE,
    unit=Unit.LENGTH,
    codes=(
        Code(
            name="bowed",
            meaning="the fold leaves the straight line between its ends",
            message="{piece}: the {fold}, {length} long, bows {amount} away from a straight line; it cannot lie on a fold.",
            advice="Rule it straight from end to end and give or take the difference at the seam opposite, or plan a seam instead of a fold.",
            facts=("piece", "fold", "length", "amount"),
        ),
    ),
    run=_fold_straight,
)

CHECKS = (EDGE_BLEND, FOLD_STRAIGHT)
