"""Checks that plan and file speak of the same things."""

from __future__ import annotations

from collections.abc import Iterator
from fnmatch import fnmatchcase

from seamcheck.amounts import Length, Listed, Name
from seamcheck.checks.base import Check, Code, Context, LookedAt, Observation, Repetition, Severity, Skip
from seamcheck.checks.places import corner_of

NAME = "plan-complete"


def _plan_complete(context: Context) -> Iterator[Observation | LookedAt | Skip]:
    plan = context.plan
    if plan is None:
        yield Skip(reason="no-plan", why="there is no plan; write one, or name one with --plan")
        return
    for piece_plan in plan.pieces:
        piece = context.pieces.get(piece_plan.name)
        if piece is None:
            wanted = piece_plan.in_file.casefold()
            if any(fnmatchcase(line.name.casefold(), wanted) for line in context.pattern.open_outlines):
                yield Skip(reason="outline-open", why="its outline does not close", piece=piece_plan.name)
                continue
            yield Observation(
                code="piece-missing",
                pieces=(piece_plan.name,),
                facts={
                    "piece": Name(piece_plan.name),
                    "in_file": Name(piece_plan.in_file),
                    "found": Listed(tuple(map(Name, sorted(p.in_file for p in context.pieces.values()))))
                    if context.pieces
                    else "none",
                },
            )
            continue
        yield LookedAt(piece=piece.name)
        for corner, why in piece.unsure.items():
            yield Observation(
                code="corner-unsure",
                pieces=(piece.name,),
                at=piece_plan.corners.get(corner),
                facts={"corner": Name(f"{piece.name}.{corner}"), "why": why},
            )
        for edge_name, why in piece.lost_edges.items():
            yield Observation(
                code="edge-swallowed" if edge_name in piece.swallowed else "edge-unsure",
                pieces=(piece.name,),
                edges=(f"{piece.name}.{edge_name}",),
                facts={"edge": Name(f"{piece.name}.{edge_name}"), "why": why},
                repeats=tuple(
                    Repetition(
                        check=NAME, codes=("corner-unsure",), piece=piece.name, at=piece_plan.corners.get(corner)
                    )
                    for corner in piece_plan.edges.get(edge_name, ())
                    if corner in piece.unsure
                ),
            )
        for edge in piece.edges:
            sewn = context.graph.seams_of(piece.name, edge.name)
            lost = any(
                (use.piece, use.edge) == (piece.name, edge.name)
                for seam in plan.seams
                for side in seam.sides
                for use in side
            )
            if not sewn and not lost and edge.name not in piece_plan.unsewn and edge.name != piece_plan.fold:
                yield Observation(
                    code="edge-unplanned",
                    pieces=(piece.name,),
                    edges=(f"{piece.name}.{edge.name}",),
                    at=edge.point(edge.length / 2),
                    facts={
                        "edge": Name(f"{piece.name}.{edge.name}"),
                        "start": corner_of(piece, edge.start),
                        "end": corner_of(piece, edge.end),
                        "length": Length(edge.length),
                        "name": Name(edge.name),
                        "piece": Name(piece.name),
                    },
                    # Edges without a name follow from corners and edges that are not sure.
                    repeats=(Repetition(check=NAME, codes=("corner-unsure", "edge-unsure"), piece=piece.name),),
                )
    planned = {piece.name for piece in plan.pieces}
    for piece in context.pieces.values():
        if piece.name not in planned:
            yield Observation(
                code="piece-unplanned",
                pieces=(piece.name,),
                at=piece.outline.start,
                facts={"piece": Name(piece.name)},
            )


PLAN_COMPLETE = Check(
    name=NAME,
    family="plan",
    meaning="every edge is sewn, unsewn or a fold, and every name in the plan is found in the file",
    why="An edge that nobody planned is an edge that nobody checked: green must mean looked at.",
    remedy="Write a seam for the edge, or list it under unsewn; correct names that the file does not have.",
    source="our own rule",
    repeats=(f"{NAME}/corner-unsure", f"{NAME}/edge-unsure"),
    codes=(
        Code(
            name="edge-unplanned",
            meaning="an edge is in no seam, not unsewn and no fold",
            message="{edge}, {length} from {start} to {end}, is in no seam.",
            advice='Add a seam for it, or write "{name}" under unsewn of piece {piece}.',
            facts=("edge", "length", "start", "end", "name", "piece"),
            severity=Severity.WARNING,
        ),
        Code(
            name="piece-unplanned",
            meaning="the file has a piece that the plan does not know",
            message="{piece} is in the file and not in the plan; none of its edges was checked against a mate.",
            advice="Add the piece and its seams to the plan.",
            facts=("piece",),
            severity=Severity.WARNING,
        ),
        Code(
            name="piece-missing",
            meaning="the plan has a piece that the file does not have",
            message='The plan has a piece {piece} (in-file = "{in_file}") that is not in the file; the file has {found}.',
            advice="Correct in-file, or add the piece to the file. Its seams were not walked.",
            facts=("piece", "in_file", "found"),
            severity=Severity.WARNING,
        ),
        Code(
            name="corner-unsure",
            meaning="a corner of the plan has no sure place on the piece",
            message="{corner}: {why}.",
            advice="Correct the coordinates of the corner in the plan to where it is in this file.",
            facts=("corner", "why"),
            severity=Severity.ERROR,
        ),
        Code(
            name="edge-unsure",
            meaning="the way of an edge cannot be told",
            message="{edge}: {why}.",
            advice="Name one more corner on the edge, in walking order.",
            facts=("edge", "why"),
            severity=Severity.ERROR,
        ),
        Code(
            name="edge-swallowed",
            meaning="the allowances leave nothing of an edge",
            message="{edge}: {why}.",
            advice="Write the allowances as they are drawn: those of the edges beside it under allowances of the piece. If they are "
            "right, the piece is too narrow for them there: make the edge longer, or give the edges beside it less.",
            facts=("edge", "why"),
            severity=Severity.ERROR,
        ),
        Code(
            name="accepted-unused",
            meaning="an accepted entry matches nothing",
            message="The plan accepts {entry}, and there is no such finding any more.",
            advice="Take the entry out of the plan, so that it does not hide a new fault.",
            facts=("entry",),
            severity=Severity.WARNING,
        ),
        Code(
            name="accepted-unknown",
            meaning="an accepted entry names something that does not exist",
            message="The plan accepts {entry}, but there is no {what}.",
            advice="Correct the entry, which accepts nothing as it is: {remedy}.",
            facts=("entry", "what", "remedy"),
            severity=Severity.WARNING,
        ),
        Code(
            name="accepted-without-why",
            meaning="an accepted entry gives no reason",
            message="The plan accepts {entry} without saying why.",
            advice='Write why = "..." so that the next person knows.',
            facts=("entry",),
            severity=Severity.WARNING,
        ),
    ),
    run=_plan_complete,
)

CHECKS = (PLAN_COMPLETE,)
