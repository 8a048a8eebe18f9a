"""Checks on the cloth beyond the sew line: allowances, and hems that are turned up.

An allowance is measured 1.2 times its width away from the ends of an edge, where no neighbour's cut line is nearer
than its own. A hem that is turned up is measured at its cut edge against the piece at the same height, each side
for itself, so that a hem that only leans is found too.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from seamcheck.amounts import Length, Name, PlainLength, Reason, Unit, phrase
from seamcheck.checks.base import OWN, Check, Code, Context, Observation, Repetition, Severity, Skip, Tolerance
from seamcheck.checks.places import corner_of
from seamcheck.exact import EXACT, most

if TYPE_CHECKING:
    from seamcheck.geometry.curve import Curve
    from seamcheck.pattern.model import Edge, Piece
    from seamcheck.pattern.seams import Side

EVEN = 1.6  # mm from the narrowest to the widest place: 0.8 mm to either side
OUTSIDE = 0.5  # mm: a sew line this far outside its cut line has no allowance to measure
WIDEST = 60.0  # mm: a cut line farther away than this all along is not an allowance
CORNER = 1.2  # allowances from a corner on, the neighbour's cut line is farther away than one's own
INLAY = 15.0  # mm: a straight taper that ends this wide is cloth to let out
FELLED = 1.9  # times as wide as its mate is an allowance that is folded over it
HEM = 20.0  # mm: from here on an allowance of a free edge is turned up and sewn down
RUNS_ON = 135.0  # degrees: from here on the line of a corner all but runs on
STRAIGHT = 1.0  # mm: a hem that bows more is eased in
NARROW = 3.2  # mm (1/8 in) that a hem may fall short of what it is sewn against
EASED = 0.02  # of its width that a hem may jut out beyond what it is sewn against


class _Allowance(NamedTuple):
    """The allowance along an edge, away from its ends, in mm: least, greatest, at both ends and in the middle."""

    low: float
    high: float
    at: complex  # where it is farthest from what it is in the middle
    ends: tuple[float, float]
    middle: float


def _is_drawn(piece: Piece) -> bool:
    """Whether the file draws both lines of a piece."""
    return piece.drawn is not piece.outline and piece.line == "sew"


def _crosses_its_cut_line(piece: Piece) -> bool:
    from seamcheck.geometry.distances import farthest_outside

    return farthest_outside(piece.outline, piece.drawn)[0] > OUTSIDE


def _along(piece: Piece, edge: Edge) -> _Allowance | Reason:
    """The allowance along an edge, or why there is none to tell."""
    import numpy as np

    from seamcheck.geometry.distances import distances, extremes

    parts: list[_Allowance] = []
    why = Reason("short-edge", phrase("the cut line is too far away for how short it is"))
    for run in edge.runs:
        middle = float(distances(piece.drawn, np.array([run.point(run.length / 2)]))[0])
        trim = CORNER * middle
        if run.length <= 2.5 * trim:
            words = "the cut line is {far} away, too far for how short it is"
            why = Reason("short-edge", phrase(words, far=PlainLength(middle, 0)))
            continue
        found = extremes(run, piece.drawn, trim, run.length - trim)
        if found.low > WIDEST:
            far = PlainLength(found.low, 0)
            why = Reason("far-cut-line", phrase("the cut line is {far} away, which is no allowance", far=far))
            continue
        stations = (run.length / 2, trim, run.length - trim, found.low_at, found.high_at)
        points = run.points(stations)
        here, first, last = (float(d) for d in distances(piece.drawn, points[:3]))
        farthest = points[3] if here - found.low > found.high - here else points[4]
        parts.append(_Allowance(found.low, found.high, complex(farthest), (first, last), here))
    if not parts:
        return why
    longest = most(parts, key=lambda part: part.high - part.low)
    low, high = min(part.low for part in parts), max(part.high for part in parts)
    return _Allowance(low, high, longest.at, longest.ends, longest.middle)


def _allowance_even(context: Context) -> Iterator[Observation | Skip]:
    pieces = [piece for piece in context.pieces.values() if _is_drawn(piece)]
    if not pieces:
        yield Skip(reason="no-two-lines", why="no piece is drawn with both its sew line and its cut line")
    for piece in pieces:
        if _crosses_its_cut_line(piece):
            yield Skip(reason="lines-cross", why="its sew line runs outside its cut line", piece=piece.name)
            continue
        for edge in piece.edges:
            if edge.inside:
                continue
            found = _along(piece, edge)
            if isinstance(found, Reason):
                yield Skip(reason=found.code, why=found.words, piece=piece.name, edge=edge.name)
                continue
            first, last = found.ends
            straight = abs(found.middle - (first + last) / 2) < 0.15 * abs(last - first)
            inlay = straight and abs(last - first) > 2 * EVEN and max(first, last) >= INLAY
            name = f"{piece.name}.{edge.name}"
            yield Observation(
                code="tapers" if inlay else "uneven",
                deviation=None if inlay else found.high - found.low,
                allowed=None if inlay else (0.0, 0.0),
                at=found.at,
                pieces=(piece.name,),
                edges=(name,),
                facts={
                    "edge": Name(name),
                    "low": Length(found.low),
                    "high": Length(found.high),
                    "range": Length(found.high - found.low),
                    "first": Length(first),
                    "last": Length(last),
                    "start": corner_of(piece, edge.start),
                    "end": corner_of(piece, edge.end),
                },
            )


ALLOWANCE_EVEN = Check(
    name="allowance-even",
    family="allowances",
    meaning="the allowance is as wide all along an edge",
    why="At the machine the edge of the cloth is laid along a guide. Where the allowance grows or shrinks, the stitches leave the "
    "sew line by as much, and the seam comes out longer, shorter or crooked, though both sew lines match.",
    remedy="Draw the cut line anew: set a gauge or a compass to the allowance, walk it along the sew line and join the marks. "
    "After an alteration cut the allowances off, correct the sew line, and add them again last.",
    source="allowances cut off, seam lines corrected, allowances added back: Threads magazine 200 (2018), 10 Patternwork Skills; "
    "0.8 mm to either side is our own limit",
    tolerance=EVEN,
    unit=Unit.LENGTH,
    codes=(
        Code(
            name="uneven",
            meaning="the allowance grows or shrinks along the edge",
            message="{edge}: the allowance is {low} at its narrowest and {high} at its widest, {range} more.",
            advice="Draw the cut line anew at one distance from the sew line; the sew line was altered and the cut line was not, or "
            "the other way round.",
            facts=("edge", "low", "high", "range"),
        ),
        Code(
            name="tapers",
            meaning="the allowance widens evenly from end to end, as for letting out",
            message="{edge}: the allowance runs from {first} near {start} to {last} near {end}.",
            advice="If it is cloth to let out, accept it in the plan; else draw the cut line anew at one distance.",
            facts=("edge", "first", "start", "last", "end"),
            severity=Severity.NOTE,
        ),
    ),
    run=_allowance_even,
)


def _allowance_mates(context: Context) -> Iterator[Observation | Skip]:
    known = False
    for seam in context.graph.seams:
        if seam.twin:
            continue
        first, second = (list(_widths(side, context)) for side in (seam.first, seam.second))
        for one in (*first, *second):
            if isinstance(one, Skip):
                yield replace(one, seam=seam.name)
        pairs = [
            (a, b)
            for a in first
            for b in second
            if isinstance(a, _Width)
            and isinstance(b, _Width)
            and _overlap(a, b, seam.first.length, seam.second.length)
        ]
        if not pairs:
            continue
        known = True
        one, other = most(pairs, key=lambda pair: abs(pair[0].width - pair[1].width))
        narrow, wide = sorted((one, other), key=lambda side: round(side.width, 6))
        felled = narrow.width > 0.0 and wide.width >= FELLED * narrow.width
        yield Observation(
            code="felled" if felled else "unequal",
            deviation=None if felled else one.width - other.width,
            allowed=None if felled else (0.0, 0.0),
            at=narrow.at,
            seam=seam.name,
            pieces=tuple(dict.fromkeys((one.piece, other.piece))),
            edges=(one.edge, other.edge),
            facts={
                "seam": Name(seam.name),
                "narrow": Name(narrow.edge),
                "wide": Name(wide.edge),
                "less": Length(narrow.width),
                "more": Length(wide.width),
                "amount": Length(wide.width - narrow.width),
            },
        )
    if not known:
        yield Skip(reason="no-allowances", why="no seam has two sides whose allowances are known")


class _Width(NamedTuple):
    """The allowance of one edge in a side of a seam: from where to where along the side, and its width in mm."""

    piece: str
    edge: str
    start: float
    end: float
    width: float
    at: complex


def _widths(side: Side, context: Context) -> Iterator[_Width | Skip]:
    """The edges of a side whose allowance is known; one that is not even is not compared."""
    for use, edge, offset in zip(side.uses, side.edges, side.offsets, strict=True):
        piece = context.pieces[use.piece]
        if edge.inside or piece.drawn is piece.outline:
            continue
        if _crosses_its_cut_line(piece):
            outside = Repetition(check="outline-crossing", codes=("outside",), piece=piece.name)
            yield Skip(
                reason="sew-line-outside",
                why="its sew line runs outside its cut line",
                piece=piece.name,
                repeats=(outside,),
            )
            continue
        along = _along(piece, edge)
        if isinstance(along, Reason):
            yield Skip(reason=along.code, why=along.words, piece=piece.name, edge=edge.name)
            continue
        if along.high - along.low > EVEN:
            uneven = Repetition(check="allowance-even", edge=use.name)
            why = "its allowance is not even, so it is not compared with that of its mate"
            yield Skip(reason="allowance-uneven", why=why, piece=piece.name, edge=edge.name, repeats=(uneven,))
            continue
        at = edge.point(edge.length / 2)
        yield _Width(use.piece, use.name, offset, offset + edge.length, along.middle, at)


def _overlap(a: _Width, b: _Width, first: float, second: float) -> bool:
    """Whether two edges on the two sides of a seam are sewn together for a good part, by their shares of its length."""
    start, end = max(a.start / first, b.start / second), min(a.end / first, b.end / second)
    return end - start > 0.5 * min((a.end - a.start) / first, (b.end - b.start) / second)


ALLOWANCE_MATES = Check(
    name="allowance-mates",
    family="allowances",
    meaning="both sides of every seam have the same allowance",
    why="The two cut edges are laid together at the machine. If one side carries 3/8 in and the other 5/8 in, the sew lines do not "
    "lie on each other and one piece is sewn too small.",
    remedy="Give both sides the same width, or mark the narrow one plainly on both pieces. A felled seam has two widths on "
    "purpose: accept it in the plan and say so on the pieces.",
    source="the sew lines of two widths do not meet: common practice, no source; a sleeve with 7/8 in on a body with 3/8 in, and felled "
    "seams that are so on purpose: sewmaris.com, How many ways; twice as wide is taken for felled: our own limit",
    tolerance=1.6,
    unit=Unit.LENGTH,
    repeats=("allowance-even", "outline-crossing/outside"),
    codes=(
        Code(
            name="unequal",
            meaning="one side has a wider allowance than the other",
            message="Seam {seam}: the allowance of {wide} is {more} and that of {narrow} is {less}, {amount} less.",
            advice="Draw both cut lines at the same distance from their sew lines.",
            facts=("seam", "wide", "more", "narrow", "less", "amount"),
        ),
        Code(
            name="felled",
            meaning="one side is about twice as wide as the other, as for a felled seam",
            message="Seam {seam}: the allowance of {wide} is {more} and that of {narrow} is {less}; it was taken for a felled seam.",
            advice="If the seam is felled, accept it in the plan; else draw both cut lines at the same distance.",
            facts=("seam", "wide", "more", "narrow", "less"),
            severity=Severity.NOTE,
        ),
    ),
    run=_allowance_mates,
)


def _hem_turn_up(context: Context) -> Iterator[Observation | Skip]:
    looked = False
    for plan in context.plan.pieces if context.plan else ():
        piece = context.pieces.get(plan.name)
        if piece is None or piece.drawn is piece.outline:
            continue
        for edge in piece.edges:
            if edge.name not in plan.unsewn or len(edge.runs) != 1 or edge.inside:
                continue
            found = _turned_up(context, piece, edge, plan.unsewn)
            if isinstance(found, Skip):
                yield found
            elif found is not None:
                looked = True
                yield found
    if not looked:
        yield Skip(
            reason="no-hem",
            why=phrase("no free edge has an allowance of {hem} or more that is known", hem=PlainLength(HEM, 0)),
        )


def _turned_up(context: Context, piece: Piece, edge: Edge, unsewn: Collection[str]) -> Observation | Skip | None:
    """How much wider or narrower the allowance of a hem is at its cut edge than the piece it is folded up against."""
    from seamcheck.checks.edges import bow
    from seamcheck.geometry.curve import Affine

    hem = edge.runs[0]
    along = _along(piece, edge)
    if isinstance(along, Reason):
        return Skip(reason=along.code, why=along.words, piece=piece.name, edge=edge.name)
    if along.middle < HEM - EXACT:
        return None
    name = f"{piece.name}.{edge.name}"
    if along.high - along.low > EVEN:
        return Skip(reason="hem-uneven", why="the allowance of the hem is not even", piece=piece.name, edge=edge.name)
    if bow(hem)[0] > STRAIGHT:
        return Skip(
            reason="hem-curved",
            why="the hem is curved, and what is turned up is eased in",
            piece=piece.name,
            edge=edge.name,
        )
    # The hem laid level, the piece above it at positive heights.
    unit = (hem.end - hem.start) / abs(hem.end - hem.start)
    level = Affine(unit.conjugate(), 0j, -hem.start * unit.conjugate())
    cut = piece.drawn.transformed(level)
    up = 1.0 if complex(level.apply(_well_inside(piece, hem))).imag > 0 else -1.0
    depth = along.middle - bow(hem)[0] - 0.01  # no deeper than where a hem that is bowed a little is still inside
    above, below = (_span(cut, hem.chord / 2, up * height) for height in (depth, -depth))
    if above is None or below is None:
        return Skip(
            reason="shorter-than-hem", why="the piece is shorter than its hem", piece=piece.name, edge=edge.name
        )
    sides = _sides(piece, edge, unsewn)
    if not any(sides):
        return Skip(
            reason="no-side",
            why="at neither end does a side of the piece run up from it",
            piece=piece.name,
            edge=edge.name,
        )
    width = above[1] - above[0]
    # Folded up, each end of the cut edge falls short of its side or juts out beyond it.
    ends = tuple(
        end if side else 0.0 for end, side in zip((below[0] - above[0], above[1] - below[1]), sides, strict=True)
    )
    short, out = sum(max(end, 0.0) for end in ends), sum(max(-end, 0.0) for end in ends)
    eased, most = max(out - EASED * width, 0.0), max(NARROW, 2 * EASED * width)
    narrow = short / NARROW >= eased / most
    worse = ends.index(max(ends) if narrow else min(ends))
    at = level.inverse().apply(complex(below[worse], up * -along.middle))
    return Observation(
        code="narrow" if narrow else "wide",
        deviation=-short if narrow else eased,
        tolerance=None if narrow else Tolerance(most, Unit.LENGTH, OWN, f"size {context.size}"),
        allowed=(0.0, EASED * width),
        at=complex(at),
        pieces=(piece.name,),
        edges=(name,),
        facts={
            "edge": Name(name),
            "depth": Length(along.middle),
            "width": Length(width),
            "amount": Length(short if narrow else out),
        },
    )


def _sides(piece: Piece, edge: Edge, unsewn: Collection[str]) -> tuple[bool, bool]:
    """Whether a side that the hem is folded up along runs up from its start, and from its end.

    None does where the line all but runs on, as from the edge of a vent into the side above it, or where the next edge is turned in
    as well: there the corner is mitred.
    """
    angles = {corner.name: corner.angle for corner in piece.corners}
    turned_in = {
        name
        for other in piece.edges
        if other is not edge and not other.inside and other.name in unsewn
        if not isinstance(along := _along(piece, other), Reason) and along.middle >= HEM - EXACT
        for name in (other.start, other.end)
    }
    start, end = (angles.get(name, 0.0) < RUNS_ON and name not in turned_in for name in (edge.start, edge.end))
    return start, end


def _well_inside(piece: Piece, hem: Curve) -> complex:
    """A point of the piece beside the middle of its hem."""
    middle, across = hem.point(hem.length / 2), 1j * hem.tangent(hem.length / 2)
    return middle + across if piece.outline.contains(middle + across) else middle - across


def _span(cut: Curve, middle: float, height: float) -> tuple[float, float] | None:
    """From where to where a closed line lies round the middle at a height; None where it is not there on both sides."""
    from seamcheck.geometry.curve import Curve as Line

    left, _, right, _ = cut.bounds()
    ruler = Line.line(complex(left - 1.0, height), complex(right + 1.0, height))
    met: Sequence[float] = [left - 1.0 + station for _, station in cut.crossings(ruler)]
    before, behind = [x for x in met if x < middle], [x for x in met if x > middle]
    return (max(before), min(behind)) if before and behind else None


HEM_TURN_UP = Check(
    name="hem-turn-up",
    family="allowances",
    meaning="what is turned up at a hem is as wide as the piece it is sewn against",
    why="On a tapered leg the piece is wider above the hem than below it. If the sides simply run on, the turned-up edge is "
    "narrower than the leg behind it: the hem pulls, dimples and tears its stitches. Much too wide, it lies in folds.",
    remedy="Fold the paper up along the hem before cutting its sides, and cut the sides through both layers; or mirror the sides "
    "above the hem into the allowance.",
    source="the sides of a hem allowance mirror the leg: Fabrics-Store blog, checking, blending and truing, part 2; 3/4 in are eased in over "
    "6 ft and never over 6 in: pinktoesandpowertools.com; 1/8 in too narrow, and 4 % too wide, are our own limits",
    tolerance=NARROW,
    unit=Unit.LENGTH,
    codes=(
        Code(
            name="narrow",
            meaning="the turned-up edge is narrower than the piece behind it",
            message="{edge}: turned up by {depth}, the hem falls {amount} short of the piece behind it, which is {width} wide there.",
            advice="Fold the hem up on the paper and cut its sides along those of the piece.",
            facts=("edge", "depth", "amount", "width"),
        ),
        Code(
            name="wide",
            meaning="the turned-up edge is much wider than the piece behind it",
            message="{edge}: turned up by {depth}, the hem juts out {amount} beyond the piece behind it, which is {width} wide there.",
            advice="Fold the hem up on the paper and cut its sides along those of the piece; or make the hem narrower.",
            facts=("edge", "depth", "amount", "width"),
        ),
    ),
    run=_hem_turn_up,
)

CHECKS = (ALLOWANCE_EVEN, ALLOWANCE_MATES, HEM_TURN_UP)
