"""What could be done about a finding: candidates for a correction.

A candidate is only tried here; whether it helps and harms nothing is for `propose` to see.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import partial
from itertools import combinations

from seamcheck.amounts import Angle, Fact, Length, Listed, Phrase, listed, phrase
from seamcheck.engine.result import Finding
from seamcheck.geometry.kinks import AT_END, STEP_LENGTH, kinks_of
from seamcheck.pattern.junctions import Junction
from seamcheck.pattern.model import Dart, Edge
from seamcheck.pattern.subject import Subject
from seamcheck.truing.correction import Correction, Made, as_made, fold_of, with_notches
from seamcheck.truing.leading import KEPT
from seamcheck.truing.lengths import given_back
from seamcheck.truing.notches import restationed
from seamcheck.truing.redraw import BESIDE_KINK, BLEND, RULED, Change, leg_name, redraw, way_of
from seamcheck.truing.state import State
from seamcheck.truing.stray import stray_of, strays

SHARP = 20.0  # degrees: a kink that belongs to a jog
LARGE_STEP = 5.0  # mm: a step that may need to be blended over twice the usual length
BOWED = 0.8  # mm: 1/32 in; a line that strays by more for the sake of its length may become as much longer as nobody measures
Line = tuple[str, str, str]  # piece, corner, and "in" or "out": the line that arrives there clockwise, or leaves
Wider = Mapping[tuple[str, str], float]  # (corner, "in" or "out") -> degrees by which the corner becomes wider there


# Corners


def corner_candidates(state: State, finding: Finding) -> Iterator[Correction]:
    """Lines that leave the junction turned, one, two or all that may be."""
    junction = _junction(state, finding)
    if junction is None:
        return
    off = junction.expected - junction.angle
    lines = [(piece, corner, way) for piece, corner in junction.corners for way in ("in", "out")]
    named = {line: _edge_of(state, *line) for line in lines}
    usable = {line: edge for line, edge in named.items() if edge is not None and _may_turn(state, line[0], edge)}
    sewn = {line: any(_sewn_together(state, line, other) for other in lines) for line in usable}
    for (piece, corner, way), edge in usable.items():
        made = _widened(state, {piece: {(corner, way): off}})
        yield Correction(
            what=phrase(
                "redraw {edge} from {corner} to an angle of {angle} there, {off} {wider}{beside}",
                edge=f"{piece}.{edge.name}",
                corner=corner,
                angle=Angle(state.pieces[piece].corner(corner).angle + off),
                off=Angle(abs(off)),
                wider="wider" if off > 0 else "narrower",
                beside=_beside(state, made, off, {piece: edge}),
            ),
            pieces=(piece,),
            make=partial(as_made, made),
            custom=int(sewn[piece, corner, way]),
        )
    for one, other in combinations(usable, 2):
        if one[0] == other[0] or sewn[one] != sewn[other] or _sewn_together(state, one, other):
            continue
        made = _widened(state, {line[0]: {line[1:]: off / 2} for line in (one, other)})
        yield Correction(
            what=phrase(
                "redraw {one} and {other} from the corner, {off} each{beside}",
                one=f"{one[0]}.{usable[one].name}",
                other=f"{other[0]}.{usable[other].name}",
                off=Angle(abs(off) / 2),
                beside=_beside(state, made, off, {line[0]: usable[line] for line in (one, other)}),
            ),
            pieces=(one[0], other[0]),
            make=partial(as_made, made),
            custom=int(sewn[one]),
        )


def _beside(state: State, made: Made, off: float, edges: Mapping[str, Edge]) -> Phrase:
    """What lines are turned by, as a ruler measures it: how far beside the old ones they lie at most."""
    if made is None:
        return phrase("")
    strays = [stray_of(piece, edge, made[0].pieces[piece].edge(edge.name)) for piece, edge in edges.items()]
    return phrase(
        ": at most {across} {side} the old {lines}",
        across=Length(max((one.most for one in strays if one is not None), default=0.0)),
        side="outside" if off > 0 else "inside",
        lines="line" if len(edges) == 1 else "lines",
    )


def _junction(state: State, finding: Finding) -> Junction | None:
    return next(
        (
            junction
            for junction in state.graph.junctions
            if finding.subject.kind == "junction" and junction.names == finding.subject.names and not junction.dart
        ),
        None,
    )


def _widened(state: State, pieces: Mapping[str, Wider]) -> Made:
    """Corners made wider, each by turning one line at it up to the next mark that stays."""
    now, bent = state, 0.0
    for piece, wider in pieces.items():
        # A line that leaves clockwise turns to its left to make the corner wider, seen with y up.
        sign = -1.0 if state.pieces[piece].y_down else 1.0
        turns = {(corner, way): sign * (by if way == "out" else -by) for (corner, way), by in wider.items()}
        made = redraw(now, piece, Change(turns=turns)) or redraw(now, piece, Change(turns=turns, far=True))
        if made is None:
            return None
        now, bent = made[0], bent + made[1]
    return with_notches(state, tuple(pieces), (now, bent))


def _edge_of(state: State, piece: str, corner: str, way: str) -> Edge | None:
    """The edge that a line at a corner belongs to; none for the leg of a dart."""
    for edge in state.pieces[piece].edges:
        if corner in (edge.start, edge.end) and not edge.inside and way_of(edge, corner) == way:
            return edge
        towards, away = ("in", "out") if edge.forward else ("out", "in")
        for before, after in edge.breaks:
            if (corner, way) in ((before, towards), (after, away)):
                return edge
    return None


def _may_turn(state: State, piece: str, edge: Edge) -> bool:
    """Whether a line may be bent at its corner: no fold, and nothing that was ruled."""
    return edge.name != fold_of(state, piece) and not all(run.is_straight(RULED) for run in edge.runs)


def _sewn_together(state: State, one: Line, other: Line) -> bool:
    """Whether two lines at a junction are sewn to one another; the line across the seam is not."""
    edges = _edge_of(state, *one), _edge_of(state, *other)
    if one == other or edges[0] is None or edges[1] is None:
        return False
    a, b = (one[0], edges[0].name), (other[0], edges[1].name)
    for seam in state.judges.plan.seams:
        first, second = ({(use.piece, use.edge) for use in side} for side in seam.sides)
        if (a in first and b in second) or (a in second and b in first):
            return True
    return False


# Lines


def kink_candidates(state: State, finding: Finding) -> Iterator[Correction]:
    """A kink, a step or a flat spot blended, the edge keeping its length: within itself, or by what is given back at an end."""
    piece, _, name = finding.edges[0].partition(".")
    at = None if finding.at is None else state.pieces[piece].edge(name).station_nearest(finding.at)
    steps = [one for one in state.judged.findings if one.check == "edge-blend" and one.code == "step"]
    step = max((abs(one.measured or 0.0) for one in steps if one.edges == finding.edges), default=0.0)
    step = max(step, _sideways(state.pieces[piece].edge(name), finding.at))
    for custom, reach in enumerate((BLEND,) if step <= LARGE_STEP else (BLEND, 2 * BLEND)):
        for one in _blended(state, finding, (piece, name, at), reach, step):
            yield replace(one, custom=custom)
    for custom, (known, where) in enumerate(
        ((at, "from the notch or corner before it to the one behind it"), (None, "from corner to corner")), 1
    ):
        change = Change(blended={name: known}, far=known is None)
        yield Correction(
            what=f"blend {piece}.{name} {where}, its length kept",
            pieces=(piece,),
            make=partial(redraw, state, piece, change),
            across=step / 2,
            custom=custom,
        )


def _sideways(edge: Edge, at: complex | None) -> float:
    """How far a line runs beside itself behind all the sharp kinks round a place, in mm: two slashes may end beside one another."""
    if at is None:
        return 0.0
    run = min(edge.runs, key=lambda one: one.nearest(at).distance)
    here = run.nearest(at).station
    sharp = [
        kink.station
        for kink in kinks_of(run)
        if abs(kink.turn) > SHARP and abs(kink.station - here) <= STEP_LENGTH and kink.station > AT_END
    ]
    if len(sharp) < 2:
        return 0.0
    before = sharp[0] - AT_END
    return abs(((run.point(sharp[-1]) - run.point(before)) * run.tangent(before).conjugate()).imag)


def _blended(
    state: State, finding: Finding, where: tuple[str, str, float | None], reach: float, step: float
) -> Iterator[Correction]:
    """A blemish at a place of an edge (piece, name, station) blended within `reach` mm on either side."""
    piece, name, at = where
    length = state.pieces[piece].edge(name).length
    near = phrase(
        "blend {edge} over up to {reach} on either side of {blemishes}",
        edge=f"{piece}.{name}",
        reach=Length(reach),
        blemishes=_blemishes(state, finding, reach),
    )
    plain = Correction(
        what=phrase("{near}, its length kept", near=near), pieces=(piece,), make=_nothing, across=step / 2
    )
    kept = redraw(state, piece, Change(blended={name: at}, reach=reach))
    yield replace(plain, make=partial(as_made, kept))
    freely = redraw(state, piece, Change(blended={name: at}, reach=reach, loose=frozenset({name})))
    if freely is None:
        return
    change = freely[0].pieces[piece].edge(name).length - length
    if abs(change) <= KEPT:
        # A line that is nearly straight bows out far for the sake of a hair's breadth of length.
        if kept is None or _beyond(state, kept[0], step) > BOWED:
            how = "longer" if change > 0.0 else "shorter"
            told = phrase("{near}, which makes it {amount} {how}", near=near, amount=Length(abs(change)), how=how)
            yield replace(plain, what=told, make=partial(as_made, freely))
        return
    back = given_back(freely[0], piece, name, length)
    if back is not None:
        words, pieces, made, amount = back
        yield replace(
            plain,
            what=phrase("{near}{words}", near=near, words=words),
            pieces=pieces,
            make=partial(as_made, made and (made[0], made[1] + freely[1])),
            amount=amount,
        )


def _beyond(before: State, after: State, step: float) -> float:
    """How far the lines that were drawn anew stray past what a step asks of them, in mm."""
    drawn = strays(before.pattern.pieces, after.pattern.pieces)
    return max((stray.beyond(0.0, step / 2) for stray in drawn), default=0.0)


def _blemishes(state: State, finding: Finding, reach: float) -> Listed:
    """The blemishes that are blended together, each with its place: those of the same edge that a blend would end beside."""
    together = [finding]
    for one in state.judged.findings:
        same = one.check == finding.check and one.edges == finding.edges and one.size == finding.size
        if same and one is not finding and one.at is not None and finding.at is not None and "end" in one.facts:
            piece, _, name = finding.edges[0].partition(".")
            edge = state.pieces[piece].edge(name)
            if abs(edge.station_nearest(one.at) - edge.station_nearest(finding.at)) <= reach + BESIDE_KINK:
                together.append(one)
    return Listed(tuple(map(_in_words, together)))


def _in_words(blemish: Finding) -> Phrase:
    what = {"step": "step", "flat": "flat spot"}.get(blemish.code, "kink")
    facts = blemish.facts
    if "end" not in facts:  # it lies at a corner that two edges share
        return phrase("the {what} at {corner}", what=what, corner=facts["corner"])
    return phrase("the {what} {distance} from {end}", what=what, distance=facts["distance"], end=facts["end"])


def _nothing() -> Made:
    return None


def bow_candidates(state: State, finding: Finding) -> Iterator[Correction]:
    """The edge ruled straight."""
    for full in finding.edges:
        piece, _, edge = full.partition(".")
        yield Correction(
            what=f"rule {full} straight from end to end",
            pieces=(piece,),
            make=partial(redraw, state, piece, Change(ruled=frozenset({edge}), loose=frozenset({edge}))),
        )


# Darts


def _darts(state: State, finding: Finding) -> Iterator[tuple[str, Dart]]:
    piece = finding.pieces[0]
    for dart in state.pieces[piece].darts:
        if finding.subject == Subject.mouth(piece, (dart.corners[0], dart.corners[2])):
            yield piece, dart


def mouth_candidates(state: State, finding: Finding) -> Iterator[Correction]:
    """The lines at the mouth of the dart turned."""
    off = -(finding.measured or 0.0)
    for piece, dart in _darts(state, finding):
        found = {
            (corner, way): edge
            for corner in (dart.corners[0], dart.corners[2])
            for way in ("in", "out")
            if (edge := _edge_of(state, piece, corner, way)) is not None
        }
        lines = dict.fromkeys(found, off / 2), *({line: off} for line in found)
        for turned in lines if len(found) == 2 else lines[1:]:
            made = _widened(state, {piece: turned})
            whole = len(turned) == 2
            yield Correction(
                what=phrase(
                    "fold the dart and redraw {edges} across it, {off} on either side{beside}"
                    if whole
                    else "redraw {edges} at {corner} alone, by {off}{beside}",
                    edges=listed(list(dict.fromkeys(f"{piece}.{found[line].name}" for line in turned))),
                    **({} if whole else {"corner": next(iter(turned))[0]}),
                    off=Angle(abs(off) / len(turned)),
                    beside=_beside(state, made, off, {piece: next(found[line] for line in turned)}),
                ),
                pieces=(piece,),
                make=partial(as_made, made),
                custom=int(not whole),
            )


def leg_candidates(state: State, finding: Finding) -> Iterator[Correction]:
    """The legs of the dart made equally long."""
    for piece, dart in _darts(state, finding):
        first, last = dart.corners[0], dart.corners[2]
        a, b = dart.legs[0].length, dart.legs[1].length
        half = (a + b) / 2
        ways: tuple[tuple[dict[str, float], Fact], ...] = (
            ({first: b}, phrase("bring the leg at {corner} to {long}", corner=first, long=Length(b))),
            ({last: a}, phrase("bring the leg at {corner} to {long}", corner=last, long=Length(a))),
            ({first: half, last: half}, phrase("bring both legs to {long}", long=Length(half))),
        )
        for wanted, what in ways:
            yield Correction(
                what=phrase("{what} and redraw the edge to the new mouth", what=what),
                pieces=(piece,),
                make=partial(_with_legs, state, piece, wanted),
            )


def _with_legs(state: State, piece: str, wanted: Mapping[str, float]) -> Made:
    lengths = {leg_name(corner): leg for corner, leg in wanted.items()}
    return with_notches(state, (piece,), redraw(state, piece, Change(free=frozenset(wanted), lengths=lengths)))


# Notches


def notch_candidates(state: State, finding: Finding) -> Iterator[Correction]:
    """The notches of either side of a seam moved along to where the other has its own."""
    walk = next((walk for walk in state.walks if walk.name == finding.seam), None)
    if walk is None:
        return
    for side, other in ((walk.seam.first, walk.seam.second), (walk.seam.second, walk.seam.first)):
        if set(side.pieces) != set(other.pieces):
            yield Correction(
                what=f"move the notches of {side.words} along the line to where {other.words} has its own",
                pieces=side.pieces,
                make=partial(_restationed, state, side.pieces, walk.name),
            )


def slant_candidates(state: State, finding: Finding) -> Iterator[Correction]:
    """The notch drawn anew square to its edge."""
    piece = finding.pieces[0]
    if finding.at is not None and finding.measured:
        yield Correction(
            what=f"draw the notch of {finding.edges[0]} anew where it stands, square to the edge",
            pieces=(piece,),
            make=partial(_squared, state, piece, finding.at, finding.measured),
        )


def _squared(state: State, piece: str, at: complex, lean: float) -> Made:
    return state.with_notch_turned(piece, at, -lean), 0.0


def _restationed(state: State, pieces: tuple[str, ...], seam: str) -> Made:
    return restationed(state, pieces, (seam,)), 0.0
