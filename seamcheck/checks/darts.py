"""Checks on darts: the legs, and the edge across the closed mouth."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from typing import TYPE_CHECKING

from seamcheck.amounts import Angle, Length, Listed, Name, Reason, Unit, phrase
from seamcheck.checks.base import Check, Code, Context, LookedAt, Observation, Severity, Skip
from seamcheck.checks.junctions import CORNER_TOLERANCE
from seamcheck.checks.mouths import NO_ROOF, opening_edge, roof, side_of
from seamcheck.checks.seam_bands import SIXTEENTH
from seamcheck.checks.seam_kinds import is_side
from seamcheck.exact import root_of_squares
from seamcheck.pattern.subject import Subject

if TYPE_CHECKING:
    from seamcheck.geometry.curve import Curve
    from seamcheck.pattern.model import Dart, Piece

CLEAR_OF_SEAM = 12.7  # mm: 1/2 in
NEAR_TOLERANCE = 6.35  # mm: half of that
LONGER = 6.35  # mm: 1/4 in, by which the dart nearer the side must be the longer to be noticed


def _skips(context: Context) -> Iterator[Skip]:
    """Darts of the plan that could not be found in this size, or that there is none at all."""
    if not any(piece.darts for piece in context.pieces.values()) and not (context.plan and context.plan.darts):
        yield Skip(reason="no-darts", why="no piece has a dart")
    for dart in context.plan.darts if context.plan else ():
        piece = context.pieces.get(dart.piece)
        if piece is None:
            yield Skip(reason="piece-missing", why="the piece is not in the file in this size", piece=dart.piece)
        elif all(found.corners != dart.corners for found in piece.darts):
            yield lost_corners(piece, dart.corners)


def lost_corners(piece: Piece, corners: tuple[str, ...]) -> Skip:
    """A dart or a pleat of the plan that is not on its piece, for the first of its corners that has no sure place."""
    why = next((piece.unsure[name] for name in corners if name in piece.unsure), None)
    if why is None:
        return Skip(reason="corners-missing", why="its corners were not found", piece=piece.name)
    return Skip(reason="corner-unsure", why=why, piece=piece.name)


def _dart_legs(context: Context) -> Iterator[Observation | Skip]:
    from seamcheck.geometry.traced_length import ENDS, traced

    yield from _skips(context)
    for piece in context.pieces.values():
        for dart in piece.darts:
            legs = [traced(leg) for leg in dart.legs]
            first, second = (leg.length for leg in legs)
            short, long = (0, 2) if first < second else (2, 0)
            yield Observation(
                code="unequal",
                deviation=first - second,
                uncertainty=ENDS * root_of_squares(leg.noise for leg in legs),
                allowed=(0.0, 0.0),
                at=dart.points[short],
                pieces=(piece.name,),
                subject=Subject.mouth(piece.name, (dart.corners[0], dart.corners[2])),
                facts={
                    "piece": Name(piece.name),
                    "short": Name(dart.corners[short]),
                    "long": Name(dart.corners[long]),
                    "tip": Name(dart.corners[1]),
                    "amount": Length(abs(first - second)),
                    "first": Length(first),
                    "second": Length(second),
                },
            )


DART_LEGS = Check(
    name="dart-legs",
    family="darts",
    meaning="the two legs of every dart are equal",
    why="Legs of unequal length leave a step at the edge when the dart is sewn, or a pucker along it.",
    remedy="Move the mouth corners so that both lie on the same circle round the tip: set a compass on the tip, open it to the "
    "leg that is right, and mark the other. Redraw the edge from there.",
    source="legs equal on the stitching line: Fabrics-Store blog, checking, blending and truing, part 1; tolerance as for seams",
    tolerance=SIXTEENTH,
    unit=Unit.LENGTH,
    codes=(
        Code(
            name="unequal",
            meaning="one leg is longer than the other",
            message="{piece}: the dart leg from {short} to {tip} is {amount} shorter than the one from {long}.",
            advice="Set a compass on the tip, open it to the leg that is right and mark the other leg; then redraw the edge.",
            facts=("piece", "short", "tip", "amount", "long"),
        ),
    ),
    run=_dart_legs,
)


def _dart_mouth(context: Context) -> Iterator[Observation | Skip]:
    yield from _skips(context)
    for piece in context.pieces.values():
        for dart in piece.darts:
            corners = dart.corners[0], dart.corners[2]
            yield running_on(context, piece, corners)
            into_outline = any(corner.name == dart.corners[1] for corner in piece.corners)
            yield from roofed(piece, corners, None if into_outline else dart.legs)


def running_on(context: Context, piece: Piece, corners: tuple[str, str]) -> Observation | Skip:
    """Whether the edge runs on across a mouth once it is closed; where a seam ends there, corner-blend judges that with the mates."""
    from seamcheck.pattern.junctions import dart_sector, is_at_end

    mouth = {(piece.name, corner) for corner in corners}
    if any(mouth < set(one.corners) for one in context.graph.junctions):
        return Skip(
            reason="at-seam-end",
            why="a seam ends at its mouth, and corner-blend judges the line there",
            piece=piece.name,
        )
    if any(is_at_end(piece, corner) for corner in corners):
        why = "it takes up the end of its edge, and corner-blend judges the line that crosses the end"
        return Skip(reason="at-end", why=why, piece=piece.name)
    sectors = [dart_sector(piece, corner) for corner in corners]
    total = sum(sector.degrees for sector in sectors)
    return Observation(
        code="pointed" if total < 180.0 else "hollow",
        deviation=total - 180.0,
        uncertainty=root_of_squares(sector.uncertainty for sector in sectors),
        allowed=(180.0, 180.0),
        at=piece.corner(corners[0]).at,
        pieces=(piece.name,),
        subject=Subject.mouth(piece.name, corners),
        facts={
            "corners": Listed(tuple(Name(f"{piece.name}.{corner}") for corner in corners)),
            "sum": Angle(total),
            "off": Angle(abs(total - 180.0)),
        },
    )


def roofed(piece: Piece, corners: tuple[str, str], legs: tuple[Curve, Curve] | None) -> Iterator[Observation | Skip]:
    """Whether the edge drawn across a mouth is caught in the seam when the mouth is folded, whichever way it is pressed.

    `legs` are None where the outline itself runs down them.
    """
    found, edge = NO_ROOF if legs is None else roof(piece, corners, legs), opening_edge(piece, corners)
    if edge is None or isinstance(found, Reason):
        why = found if isinstance(found, Reason) else Reason("no-edge", phrase("no edge of the plan opens there"))
        mouth = Listed(tuple(map(Name, corners)))
        yield Skip(
            reason=why.code,
            why=phrase("of the mouth at {corners}: {why}", corners=mouth, why=why.words),
            piece=piece.name,
        )
        return
    yield Observation(
        code="roof",
        deviation=found.beyond,
        allowed=(0.0, 0.0),
        at=found.at,
        pieces=(piece.name,),
        edges=(f"{piece.name}.{edge.name}",),
        facts={
            "corners": Listed(tuple(Name(f"{piece.name}.{corner}") for corner in corners)),
            "toward": Name(side_of(edge, found.toward)),
            "amount": Length(abs(found.beyond)),
            "lacks": "ends short of" if found.beyond < 0.0 else "stands beyond",
        },
    )


_MOUTH_ADVICE = (
    "Fold the dart closed on the paper the way it will be pressed, redraw the edge across the fold as one smooth line, and "
    "cut along it while the dart is folded."
)

DART_MOUTH = Check(
    name="dart-mouth",
    family="darts",
    meaning="the edge runs on smoothly when the dart is folded",
    why="When the dart is sewn, an edge that was drawn straight across the open mouth shows a peak or a dip, and the band or "
    "facing sewn to it does not fit.",
    remedy=_MOUTH_ADVICE,
    source="dart cap by folding: industry standard list in Sewing techniques: darts (docslib 10951758); tolerance by geometry: "
    "3.5° is 1/16 in, one inch from the corner",
    tolerance=CORNER_TOLERANCE,
    unit=Unit.ANGLE,
    codes=(
        Code(
            name="pointed",
            meaning="the closed mouth makes a bump",
            message="With the dart closed, the angles at {corners} add to {sum} instead of 180°: the edge makes a bump of {off} instead of running on.",
            advice=_MOUTH_ADVICE,
            facts=("corners", "sum", "off"),
        ),
        Code(
            name="hollow",
            meaning="the closed mouth makes a dip",
            message="With the dart closed, the angles at {corners} add to {sum} instead of 180°: the edge makes a dip of {off} instead of running on.",
            advice=_MOUTH_ADVICE,
            facts=("corners", "sum", "off"),
        ),
        Code(
            name="roof",
            meaning="the edge drawn across the mouth does not reach the seam when the dart is folded",
            message="Folded towards {toward}, the cloth in the dart at {corners} {lacks} the seam by {amount}.",
            advice=_MOUTH_ADVICE,
            facts=("toward", "corners", "lacks", "amount"),
            tolerance=SIXTEENTH,
            unit=Unit.LENGTH,
        ),
    ),
    run=_dart_mouth,
)


def _dart_place(context: Context) -> Iterator[Observation | LookedAt | Skip]:
    yield from _skips(context)
    for piece in context.pieces.values():
        for dart in piece.darts:
            yield LookedAt(piece=piece.name)
            yield from _near_a_seam(context, piece, dart)
        for one, other in combinations(piece.darts, 2):
            yield from _crossing(piece, one, other)
            yield from _order(piece, one, other)


def _near_a_seam(context: Context, piece: Piece, dart: Dart) -> Iterator[Observation]:
    """How far the tip is from the nearest seam but the one that the dart opens on."""
    tip = dart.points[1]
    own = opening_edge(piece, (dart.corners[0], dart.corners[2]))
    others = [
        (min(run.nearest(tip).distance for run in edge.runs), edge.name)
        for edge in piece.edges
        if edge is not own and not edge.inside and context.graph.seams_of(piece.name, edge.name)
    ]
    if others:
        distance, name = min(others)
        yield Observation(
            code="near-seam",
            deviation=min(distance - CLEAR_OF_SEAM, 0.0),
            allowed=(CLEAR_OF_SEAM, max(distance, CLEAR_OF_SEAM)),
            at=tip,
            pieces=(piece.name,),
            edges=(f"{piece.name}.{name}",),
            facts={
                "piece": Name(piece.name),
                "tip": Name(dart.corners[1]),
                "edge": Name(f"{piece.name}.{name}"),
                "distance": Length(distance),
            },
        )


def _crossing(piece: Piece, one: Dart, other: Dart) -> Iterator[Observation]:
    from seamcheck.geometry.intersections import crossings

    for leg in one.legs:
        for its in other.legs:
            i, t, _, _ = crossings(leg.segments, its.segments)
            if len(i):
                yield Observation(
                    code="crossing",
                    at=leg.point(leg.station_of(int(i[0]), float(t[0]))),
                    pieces=(piece.name,),
                    facts={"piece": Name(piece.name), "one": Name(one.corners[1]), "other": Name(other.corners[1])},
                )
                return


def _order(piece: Piece, one: Dart, other: Dart) -> Iterator[Observation]:
    """Of two darts on one edge the one nearer the side seam is the shorter, where the names tell the side."""
    edges = [opening_edge(piece, (dart.corners[0], dart.corners[2])) for dart in (one, other)]
    edge = edges[0]
    if edge is None or edges[1] is not edge or is_side(edge.start) == is_side(edge.end):
        return
    places = [next(k for k, pair in enumerate(edge.breaks) if dart.corners[0] in pair) for dart in (one, other)]
    at_side, inner = (one, other) if (places[0] < places[1]) == is_side(edge.start) else (other, one)
    lengths = [sum(leg.length for leg in dart.legs) / 2 for dart in (at_side, inner)]
    if lengths[0] - lengths[1] <= LONGER:
        return
    yield Observation(
        code="order",
        at=at_side.points[1],
        pieces=(piece.name,),
        edges=(f"{piece.name}.{edge.name}",),
        facts={
            "piece": Name(piece.name),
            "at_side": Name(at_side.corners[1]),
            "inner": Name(inner.corners[1]),
            "amount": Length(abs(lengths[0] - lengths[1])),
        },
    )


DART_PLACE = Check(
    name="dart-place",
    family="darts",
    meaning="every dart ends clear of the seams, no two darts cross, and the one nearer the side is not the longer",
    why="A dart that ends in or beside a seam makes a hard knot there and cannot be pressed; the body curves less at the side, so a "
    "dart that is long there ends in a bubble.",
    remedy="Shorten the dart, or turn it about the middle of its mouth, until its tip is at least 1/2 in from the next seam; redraw both "
    "legs straight from the new tip. Of two waist darts draw the one nearer the side shorter.",
    source="a dart is to be kept clear of the seams, and of two darts the one nearer the side is shorter: common practice, no source",
    tolerance=NEAR_TOLERANCE,
    unit=Unit.LENGTH,
    codes=(
        Code(
            name="near-seam",
            meaning="the tip of a dart lies too near a seam",
            message="{piece}: the dart point {tip} ends {distance} from the seam {edge}.",
            advice="Shorten the dart or turn it until its point is at least 1/2 in from the seam, and redraw both legs from there.",
            facts=("piece", "tip", "distance", "edge"),
        ),
        Code(
            name="crossing",
            meaning="two darts cross",
            message="{piece}: the darts at {one} and {other} cross each other.",
            advice="Shorten one of them, or move its mouth along the edge, until they are clear of each other.",
            facts=("piece", "one", "other"),
            severity=Severity.ERROR,
        ),
        Code(
            name="order",
            meaning="the dart nearer the side is the longer one",
            message="{piece}: the dart at {at_side}, nearer the side, is {amount} longer than the one at {inner}.",
            advice="Shorten it, or exchange the two; the nearer the side, the shorter the dart.",
            facts=("piece", "at_side", "amount", "inner"),
            severity=Severity.NOTE,
        ),
    ),
    run=_dart_place,
)

CHECKS = (DART_LEGS, DART_MOUTH, DART_PLACE)
