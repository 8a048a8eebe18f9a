"""What an alteration changed, as JSON (schema `seamcheck.compare/1`): lengths in mm, angles in degrees.

Keys may be added to the schema, never renamed. Points are in the axes of the file before, but for `after` of a break and
for notches, which are in those of the file after. Turns are positive anticlockwise as the file is seen.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from seamcheck.engine.report_format import RenderOptions
from seamcheck.report.json import dump

if TYPE_CHECKING:
    from seamcheck.comparison.changes import (
        Break,
        Comparison,
        Cut,
        EdgeChange,
        NotchChange,
        OutlinePlace,
        PieceChange,
    )
    from seamcheck.comparison.consequences import Consequences, JunctionEffect, SeamEffect
    from seamcheck.geometry.curve import Affine
    from seamcheck.pattern.model import Notch

SCHEMA = "seamcheck.compare/1"


def render_json(comparison: Comparison, effects: Consequences, options: RenderOptions) -> str:
    """The comparison as one JSON object."""
    return dump(
        {
            "schema": SCHEMA,
            "before": comparison.before.path,
            "after": comparison.after.path,
            "pieces": [_piece(piece) for piece in comparison.pieces],
            "added": comparison.added,
            "removed": comparison.removed,
            "sizes_before": comparison.sizes_before,
            "sizes_after": comparison.sizes_after,
            "renamed": dict(comparison.renamed),
            "seams": [_seam(one) for one in effects.seams],
            "junctions": [_junction(one) for one in effects.junctions],
            "loose": effects.loose,
        }
    )


def _piece(change: PieceChange) -> dict[str, object]:
    return {
        "name": change.name,
        "in_file": change.after.in_file,
        "in_file_before": change.before.in_file,
        "size": change.after.size,
        "unchanged": change.unchanged,
        "mirrored": change.mirrored,
        "tolerance": change.tolerance,
        "noise": change.noise,
        "placement": _motion(change.placement),
        "parts": [
            {
                "corners": part.corners,
                "turn": part.turn,
                "length": part.length,
                "middle": part.middle,
                "motion": _motion(part.motion),
            }
            for part in change.parts
        ],
        "cuts": [_cut(cut) for cut in change.cuts],
        "ends": [
            {"edge": end.edge, "corner": end.corner, "kind": end.kind, "amount": end.amount} for end in change.ends
        ],
        "redrawn": [
            {
                "edge": line.edge,
                "kind": line.kind,
                "depth": line.depth,
                "deepest": _place(line.deepest),
                "at_middle": line.at_middle,
                "ends": [_place(end) for end in line.ends],
                "offsets": line.offsets,
                "change": line.change,
            }
            for line in change.redrawn
        ],
        "edges": [_edge(edge) for edge in change.edges],
        "darts": [
            {
                "corners": dart.corners,
                "legs": [dart.legs_before, dart.legs_after],
                "intake": [dart.intake_before, dart.intake_after],
                "turn": dart.turn,
                "tip_moved": dart.tip_moved,
            }
            for dart in change.darts
        ],
        "grain": None if change.grain is None else {"turns": change.grain.turns, "at": change.grain.at},
        "lost_corners": change.lost_corners,
    }


def _motion(motion: Affine) -> dict[str, object]:
    """A rigid motion z -> turn * z + move, or turn * conj(z) + move where it mirrors."""
    return {"turn": motion.b if motion.mirrors else motion.a, "move": motion.c, "mirrors": motion.mirrors}


def _cut(cut: Cut) -> dict[str, object]:
    return {
        "fixed": cut.fixed,
        "moved": cut.moved,
        "turn": cut.turn,
        "shift": cut.shift,
        "centre": cut.centre,
        "hinge": None if cut.hinge is None else _break(cut.hinge),
        "breaks": [_break(one) for one in cut.breaks],
    }


def _break(one: Break) -> dict[str, object]:
    return {"amount": one.amount, "sharp": one.sharp, "before": _place(one.before), "after": _place(one.after)}


def _place(place: OutlinePlace) -> dict[str, object]:
    return {
        "at": place.at,
        "edge": place.edge or None,
        "station": place.along,
        "corner": place.corner or None,
        "distance": place.distance,
    }


def _edge(edge: EdgeChange) -> dict[str, object]:
    return {
        "name": edge.name,
        "length": [edge.before, edge.after],
        "change": edge.change,
        "angles": [edge.angles_before, edge.angles_after],
        "notches": [_notch(notch) for notch in edge.notches],
        "lost": [_mark(notch) for notch in edge.lost],
        "new": [_mark(notch) for notch in edge.new],
    }


def _notch(notch: NotchChange) -> dict[str, object]:
    return {
        "at": notch.after.at,
        "station": [notch.before.station, notch.after.station],
        "count": [notch.before.count, notch.after.count],
        "expected": notch.expected,
        "from_start": notch.from_start,
        "from_end": notch.from_end,
        "kind": notch.kind,
        "drift": notch.drift,
    }


def _mark(notch: Notch) -> dict[str, object]:
    return {"at": notch.at, "station": notch.station, "count": notch.count}


def _seam(one: SeamEffect) -> dict[str, object]:
    return {
        "seam": one.seam,
        "size": one.size,
        "first": {"edges": one.first.edges, "change": one.first.change},
        "second": {"edges": one.second.edges, "change": one.second.change},
        "twin": one.twin,
        "deviation": [one.deviation_before, one.deviation],
        "outcome": one.outcome,
        "hanging": one.hanging,
    }


def _junction(one: JunctionEffect) -> dict[str, object]:
    return {
        "corners": one.corners,
        "size": one.size,
        "angle": [one.before, one.after],
        "expected": one.expected,
        "changed": one.changed,
        "outcome": one.outcome,
    }
