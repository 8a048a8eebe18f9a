"""One plan behind another: what goes before keeps its names and all that it says, what comes behind fills in the rest."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace

from seamcheck.pairing.proposal import ProposedSeam
from seamcheck.pattern.model import Edge, Pattern, Piece
from seamcheck.pattern.plan import DartPlan, EdgeUse, PiecePlan, Plan

SAME_END = 2.0  # mm: how near the ends of an edge must lie to be those of the same edge
ALONG = 0.5  # mm: how near two edges lie that run along each other


def unique(name: str, taken: dict[str, int], joint: str = " ") -> str:
    """A name, with a number behind it where it was taken before."""
    taken[name] = taken.get(name, 0) + 1
    return name if taken[name] == 1 else f"{name}{joint}{taken[name]}"


def behind(
    written: Plan, pattern: Pattern, plan: Plan, seams: Sequence[ProposedSeam]
) -> tuple[Plan, tuple[ProposedSeam, ...], tuple[str, ...]]:
    """A plan that goes before with what is new behind it, what is new in its names, and what has no names there.

    Seams of edges that it already uses or leaves unsewn are left out.
    """
    used = {(use.piece, use.edge) for seam in written.seams for side in seam.sides for use in side}
    for piece in written.pieces:
        used |= {(piece.name, edge) for edge in (*piece.unsewn, *((piece.fold,) if piece.fold else ()))}
    alias, fresh = _aliases(written, pattern, plan)
    names = {seam.name for seam in written.seams}
    new = []
    unnamed = []
    for one in seams:
        if any((use.piece, use.edge) not in alias for side in one.seam.sides for use in side):
            unnamed.append(_where(one, plan))
            continue
        sides = []
        for side in one.seam.sides:
            uses = [alias[use.piece, use.edge] for use in side]
            if any(there[:2] in used for there in uses):
                break
            sides.append(
                tuple(
                    EdgeUse(there[0], there[1], use.backwards ^ there[2])
                    for use, there in zip(side, uses, strict=True)
                )
            )
        if len(sides) < 2:
            continue
        name, number = one.seam.name, 2
        while name in names:
            name, number = f"{one.seam.name} {number}", number + 1
        names.add(name)
        new.append(replace(one, seam=replace(one.seam, name=name, sides=(sides[0], sides[1]))))
    darts = [replace(dart, piece=fresh[dart.piece].name) for dart in plan.darts if dart.piece in fresh]
    pleats = [replace(pleat, piece=fresh[pleat.piece].name) for pleat in plan.pleats if pleat.piece in fresh]
    whole = replace(
        written,
        pieces=(*written.pieces, *fresh.values()),
        darts=(*written.darts, *darts),
        pleats=(*written.pleats, *pleats),
        seams=(*written.seams, *(one.seam for one in new)),
    )
    return whole, tuple(new), tuple(unnamed)


def _ends(plan: PiecePlan, drawn: Piece) -> Iterator[tuple[str, tuple[complex, complex], complex]]:
    """The edges with their ends and middles, as they are found again on the sew line and as the plan has them on the line of the file."""
    for edge in drawn.edges:
        if edge.named and edge.runs:
            ends, middle = (edge.runs[0].start, edge.runs[-1].end), edge.point(edge.length / 2.0)
            yield edge.name, ends, middle
            way = plan.edges[edge.name]
            yield edge.name, (plan.corners[way[0]], plan.corners[way[-1]]), middle


def completed(lent: Plan, plan: Plan, build: Callable[[Plan], Pattern]) -> Plan:
    """A plan with the edges of its pieces besides that only another plan names, and with the folds that are drawn."""
    bare = [
        replace(
            one,
            pieces=tuple(replace(piece, line=None, allowance=None, allowances={}) for piece in one.pieces),
            seams=(),
        )
        for one in (lent, plan)
    ]
    own, there = ({piece.in_file: piece for piece in reversed(build(one).pieces)} for one in bare)
    other = {piece.in_file: piece for piece in plan.pieces}
    pieces, darts = [], list(lent.darts)
    for piece in lent.pieces:
        more, called = _more(piece, own[piece.in_file], other[piece.in_file], there[piece.in_file])
        pieces.append(more)
        for dart in plan.darts:
            if dart.piece == other[piece.in_file].name and called.keys() >= set(dart.corners):
                a, b, c = (called[corner] for corner in dart.corners)
                darts.append(DartPlan(piece=piece.name, corners=(a, b, c)))
    return replace(lent, pieces=tuple(pieces), darts=tuple(darts))


def _more(piece: PiecePlan, own: Piece, plan: PiecePlan, there: Piece) -> tuple[PiecePlan, Mapping[str, str]]:
    """A piece with what another plan says of the rest of its outline, and what the corners that it took are called."""
    mine = [edge for edge in own.edges if edge.named]
    corners, called, edges, known = dict(piece.corners), {}, dict(piece.edges), {}
    taken = dict.fromkeys(corners, 1)
    for edge in there.edges:
        if edge.name not in plan.edges:
            continue
        along = next((one for one in mine if _along(edge, one)), None)
        if along is not None:
            known[edge.name] = along.name
            continue
        for corner in plan.edges[edge.name]:
            at = plan.corners[corner]
            same = next((name for name, place in piece.corners.items() if abs(place - at) < SAME_END), None)
            if corner not in called:
                called[corner] = same or unique(corner, taken, "-")
            corners.setdefault(called[corner], at)
        number = 2
        name = edge.name
        while name in edges:
            name, number = f"{edge.name}-{number}", number + 1
        known[edge.name] = name
        edges[name] = tuple(called[corner] for corner in plan.edges[edge.name])
    fold = known.get(plan.fold or "", piece.fold)
    unsewn = [known[edge] for edge in plan.unsewn if known.get(edge) not in (None, *piece.edges)]
    more = replace(
        piece,
        corners=corners,
        edges=edges,
        fold=fold,
        cut="fold" if fold else piece.cut,
        unsewn=(*(edge for edge in piece.unsewn if edge != fold), *unsewn),
    )
    return more, called


def _along(one: Edge, other: Edge) -> bool:
    """Whether two edges run along each other somewhere."""
    return any(
        min(run.nearest(a.point(a.length * share)).distance for run in b.runs) < 0.5
        for a, b in ((one, other), (other, one))
        for share in (0.3, 0.5, 0.7)
    )


def _where(one: ProposedSeam, plan: Plan) -> str:
    """A seam told by the places of its edges, for a plan that has no names for them."""
    sides = []
    for side in one.seam.sides:
        told = []
        for use in side:
            piece = plan.piece(use.piece)
            way = piece.edges[use.edge][:: -1 if use.backwards else 1]
            ends = [
                f"({piece.corners[corner].real:g}, {piece.corners[corner].imag:g})" for corner in (way[0], way[-1])
            ]
            told.append(f"{piece.in_file} from {ends[0]} to {ends[1]}")
        sides.append(" and ".join(told))
    return " is sewn to ".join(sides) if sides[0] != sides[1] else f"{sides[0]} is sewn to its mirror twin"


Alias = Mapping[tuple[str, str], tuple[str, str, bool]]


def _aliases(written: Plan, pattern: Pattern, plan: Plan) -> tuple[Alias, dict[str, PiecePlan]]:
    """What the older plan calls the edges of the new one, and the pieces that it does not have, by their names there."""
    known = {piece.in_file.casefold(): piece for piece in written.pieces}
    alias: dict[tuple[str, str], tuple[str, str, bool]] = {}
    fresh: dict[str, PiecePlan] = {}
    taken = {piece.name: 1 for piece in written.pieces}
    for piece in plan.pieces:
        mine = known.get(piece.in_file.casefold())
        drawn = None if mine is None else next((one for one in pattern.pieces if one.name == mine.name), None)
        if mine is None:
            name = unique(piece.name, taken, "-")
            fresh[piece.name] = replace(piece, name=name)
            alias |= {(piece.name, edge): (name, edge, False) for edge in piece.edges}
        elif drawn is not None:
            for edge, way in piece.edges.items():
                ends = piece.corners[way[0]], piece.corners[way[-1]]
                found: list[tuple[float, tuple[str, str, bool]]] = []
                for name, there, middle in _ends(mine, drawn):
                    # Both edges of a piece with two corners run between them; its plan says by which place.
                    off = abs(middle - piece.corners[way[1]]) if len(way) == 3 else 0.0
                    for flip in (False, True):
                        far = max(abs(a - b) for a, b in zip(ends, there[::-1] if flip else there, strict=True))
                        if far < SAME_END:
                            found.append((off, (mine.name, name, flip)))
                if found:
                    alias[piece.name, edge] = min(found, key=lambda one: one[0])[1]
    return alias, fresh
