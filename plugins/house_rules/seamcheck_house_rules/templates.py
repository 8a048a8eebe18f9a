"""A check over sizes: what is cut by one template is the same in all of them.

    [options.house-rules]
    templates = ["pocket", "loop*"]    # pieces that are not graded

A check is called once for each size. What compares sizes looks at `context.pattern`, which holds them all, and speaks of its own size
only, so that nothing is said twice.
"""

from __future__ import annotations

from collections.abc import Iterator
from fnmatch import fnmatchcase

from seamcheck.amounts import Length, Name, Unit
from seamcheck.checks.base import Check, Code, Context, Observation, Skip


def templates_stay_as_they_are(context: Context) -> Iterator[Observation | Skip]:
    """Yield for each edge of a template by how much it differs from the first size."""
    masks = context.settings.options_of("house-rules").texts("templates")
    if not masks:
        yield Skip(reason="no-templates", why="the shop names no templates under [options.house-rules]")
        return
    first, *others = context.pattern.sizes
    if context.size not in others:
        return
    before = {piece.name: piece for piece in context.pattern.in_size(first)}
    for name, piece in context.pieces.items():
        if name not in before or not any(fnmatchcase(name, mask) for mask in masks):
            continue
        lengths = {edge.name: edge.length for edge in before[name].edges}
        for edge in piece.edges:
            if edge.name in lengths:
                yield Observation(
                    code="graded",
                    deviation=edge.length - lengths[edge.name],
                    allowed=(0.0, 0.0),
                    pieces=(name,),
                    edges=(f"{name}.{edge.name}",),
                    at=edge.point(edge.length / 2),
                    facts={
                        "edge": Name(f"{name}.{edge.name}"),
                        "length": Length(edge.length),
                        "before": Length(lengths[edge.name]),
                        "first": Name(first),
                    },
                )


CHECK = Check(
    name="template-fixed",
    family="house rules",
    meaning="pieces that are cut by one template have the same edges in every size",
    why="The kit room has one pocket template. A pocket that grew with the size does not match it, and its place lines do not either.",
    remedy="Take the grading off the piece, and off the lines that show its place.",
    source="house rule of the kit room",
    tolerance=1.0,
    unit=Unit.LENGTH,
    codes=(
        Code(
            name="graded",
            meaning="an edge of a template is longer or shorter than in the first size",
            message="{edge} measures {length}, but {before} in size {first}: it was graded, and its template was not.",
            advice="Give the edge back the length that it has in size {first}.",
        ),
    ),
    run=templates_stay_as_they_are,
)
