"""The names of the earlier file carried over to the later one, so that corners and edges can be told from each other.

Where there is a plan, its pieces are looked for by shape when the later file calls them otherwise. Where there is none,
the corners of the earlier file serve as one.
"""

from __future__ import annotations

from dataclasses import replace

from seamcheck.comparison.piece_matching import common_sizes, match
from seamcheck.pattern.drawing import Note
from seamcheck.pattern.model import Pattern, Piece
from seamcheck.pattern.plan import PiecePlan, Plan


def plan_from(before: Pattern, nameless: Pattern) -> Plan:
    """A plan that gives the later file the corners and edges that the earlier one has, and nothing to sew.

    `nameless` is the later file as it is read without any plan.
    """
    sizes = common_sizes(before, nameless)
    pieces: dict[str, PiecePlan] = {}
    for size, old_size in sizes:
        for old, new in match(before.in_size(old_size), nameless.in_size(size)):
            if old.name not in pieces and not old.lost_edges:
                pieces[old.name] = _piece_plan(old, new)
    return Plan(pieces=tuple(pieces.values()))


def _piece_plan(old: Piece, new: Piece) -> PiecePlan:
    corners = {corner.name: corner.at for corner in old.corners}
    ways = {
        edge.name: (edge.start, *(name for name, _ in edge.inner), edge.end) for edge in old.edges if not edge.inside
    }
    return PiecePlan(
        name=old.name,
        in_file=new.in_file,
        line=None if old.line == "unknown" else old.line,
        corners=corners,
        # The one edge of a disc begins and ends nowhere that has a name.
        edges={name: way for name, way in ways.items() if corners.keys() >= set(way)},
    )


def renamed(plan: Plan, before: Pattern, after: Pattern) -> tuple[Plan, tuple[Note, ...]]:
    """The plan with the names that the later file gives its pieces, found by their shapes, and what was so taken.

    `after` is the later file as it is read by the plan as it is.
    """
    known, here = {piece.name for piece in plan.pieces}, {piece.name for piece in after.pieces}
    found: dict[str, str] = {}
    for size, old_size in common_sizes(before, after):
        old = [piece for piece in before.in_size(old_size) if piece.name in known - here - found.keys()]
        new = [piece for piece in after.in_size(size) if piece.name not in known | set(found.values())]
        found |= {one.name: two.in_file for one, two in match(old, new)}
    notes = tuple(
        Note(
            "renamed",
            f'"{in_file}" is taken for the piece {name} of the earlier file, by its shape and size; '
            f'write in-file = "{in_file}" in the plan if it is.',
        )
        for name, in_file in found.items()
    )
    pieces = tuple(
        replace(piece, in_file=found[piece.name]) if piece.name in found else piece for piece in plan.pieces
    )
    return replace(plan, pieces=pieces), notes


def upside_down(plan: Plan) -> Plan:
    """The plan for a file whose y axis runs the other way, so that no piece seems turned over there."""
    return replace(
        plan,
        pieces=tuple(
            replace(piece, corners={name: at.conjugate() for name, at in piece.corners.items()})
            for piece in plan.pieces
        ),
    )
