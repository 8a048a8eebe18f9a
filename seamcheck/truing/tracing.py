"""A strip traced anew from the strip of the same form that it is sewn to, as a facing is cut from the band that it faces."""

from __future__ import annotations

from seamcheck.geometry.curve import Affine
from seamcheck.pattern.model import Edge, Piece
from seamcheck.truing.correction import beside, fold_of
from seamcheck.truing.redraw import BLEND, Change, redraw
from seamcheck.truing.state import Replacement, State

SAME_FORM = 1.6  # mm: 1/16 in; edges of two pieces of one form differ by no more
CORNERS = 4

End = tuple[Edge, str, str]  # an edge, one of its corners, and the piece


def traced(state: State, mine: tuple[End, End], its: tuple[End, End]) -> State | None:
    """The pattern with one strip drawn like another one that is sewn along it; both by the ends of their edges, end to end.

    None where they are not of one form: apart from those edges, all edges as long on either. Kinks that the other strip still has
    are blended in what is drawn.
    """
    (edge, _, name), (other, _, leader) = mine[0], its[0]
    if name == leader or [edge.name, other.name] != [mine[1][0].name, its[1][0].name]:
        return None
    smooth = redraw(
        state, leader, Change(blended={one.name: None for one in state.pieces[leader].edges}, reach=BLEND)
    )
    piece, model = state.pieces[name], (smooth[0] if smooth else state).pieces[leader]
    mates = _corners(piece, model, mine, its)
    if mates is None:
        return None
    ring, form, total = piece.outline, model.outline, piece.outline.length
    stations = {corner.name: corner.station % total for corner in piece.corners if corner.name in mates}
    there = {corner.name: corner.station % form.length for corner in model.corners}
    if len(stations) != CORNERS:
        return None
    mirrored = _clockwise(mine) != _clockwise(its)
    move = _move(piece, model, mine, its, mates, fold_of(state, name), mirrored=mirrored)
    order = sorted(stations, key=lambda corner: stations[corner])
    new = []
    for corner, after in zip(order, [*order[1:], order[0]], strict=True):
        a, b = there[mates[corner]], there[mates[after]]
        line = form.between(b, a).reversed() if mirrored else form.between(a, b)
        new.append(Replacement(stations[corner], stations[after], line.transformed(move)))
    try:
        return state.with_lines(name, new) if ring is state.shapes[name].outline else None
    except (ValueError, KeyError):
        return None


def _corners(piece: Piece, model: Piece, mine: tuple[End, End], its: tuple[End, End]) -> dict[str, str] | None:
    """Which corner of one strip is which of the other; None where they are not of one form."""
    mates: dict[str, str] = {}
    for (edge, corner, _), (other, there, _) in zip(mine, its, strict=True):
        here, beyond = beside(piece, edge, corner), beside(model, other, there)
        if here is None or beyond is None or abs(here.length - beyond.length) > SAME_FORM:
            return None
        mates[corner] = there
        mates[_far(here, corner)] = _far(beyond, there)
    opposite = [
        [one for one in strip.edges if not {one.start, one.end} & {long[0].start, long[0].end}]
        for strip, long in ((piece, mine[0]), (model, its[0]))
    ]
    if len(opposite[0]) != 1 or len(opposite[1]) != 1 or len(mates) != CORNERS:
        return None
    return mates if abs(opposite[0][0].length - opposite[1][0].length) <= SAME_FORM else None


def _far(edge: Edge, corner: str) -> str:
    return edge.end if edge.start == corner else edge.start


def _clockwise(ends: tuple[End, End]) -> bool:
    """Whether an edge runs clockwise from its first end."""
    edge, corner, _ = ends[0]
    return edge.forward == (edge.start == corner)


def _move(
    piece: Piece,
    model: Piece,
    mine: tuple[End, End],
    its: tuple[End, End],
    mates: dict[str, str],
    fold: str | None,
    *,
    mirrored: bool,
) -> Affine:
    """The motion that lays the other strip on this one, so that the short end that stays is one: the fold, or that at the start."""
    short = [beside(piece, edge, corner) for edge, corner, _ in mine]
    k = 1 if short[1] is not None and short[1].name == fold else 0
    corner, stays = mine[k][1], short[k]
    assert stays is not None
    here, away = piece.corner(corner).at, piece.corner(_far(stays, corner)).at
    there, beyond = model.corner(its[k][1]).at, model.corner(mates[_far(stays, corner)]).at
    way = (away - here) / (beyond - there).conjugate() if mirrored else (away - here) / (beyond - there)
    way /= abs(way)
    if mirrored:
        return Affine(0j, way, here - way * there.conjugate())
    return Affine(way, 0j, here - way * there)
