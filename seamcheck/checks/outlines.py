"""Checks on what makes a piece cuttable at all."""

from __future__ import annotations

from collections.abc import Iterator

from seamcheck.checks.base import Check, Code, Context, Length, Observation, Severity, Skip, Unit


def _outline_closed(context: Context) -> Iterator[Observation | Skip]:
    sizes = context.pattern.sizes
    for line in context.pattern.open_outlines:
        # An outline whose size nobody wrote is told once, in the first size.
        told_in = line.size if line.size in sizes or not sizes else sizes[0]
        if told_in != context.size:
            continue
        yield Observation(
            code="open",
            pieces=(line.name,),
            at=line.ends[0],
            facts={
                "piece": line.name,
                "gap": Length(line.gap),
                "one": f"({line.ends[0].real:.1f}, {line.ends[0].imag:.1f})",
                "other": f"({line.ends[1].real:.1f}, {line.ends[1].imag:.1f})",
                "place": line.place,
            },
        )
    for piece in context.pieces.values():
        yield Observation(
            code="gap",
            deviation=piece.gap,
            allowed=(0.0, 0.0),
            pieces=(piece.name,),
            at=piece.outline.start,
            facts={"piece": piece.name, "gap": Length(piece.gap)},
        )


OUTLINE_CLOSED = Check(
    name="outline-closed",
    family="outlines",
    meaning="the outline of every piece is closed",
    why="A line with a gap is no piece: it cannot be cut out by a plotter, and no seam on it can be walked.",
    remedy="Join the two ends in the drawing program, or redraw the corner between them.",
    source="common practice, no source; ends up to 0.5 mm apart are joined without a word",
    tolerance=1.0,
    unit=Unit.LENGTH,
    codes=(
        Code(
            name="open",
            meaning="the outline does not close",
            message="{piece}: the outline is open; its ends at {one} and {other} are {gap} apart ({place}).",
            advice="Join the two ends in the drawing program and save the file again. No seam of this piece was walked.",
            severity=Severity.ERROR,
        ),
        Code(
            name="gap",
            meaning="a small gap was bridged to close the outline",
            message="{piece}: the outline closes only across gaps of up to {gap}.",
            advice="Snap the ends of the lines together in the drawing program.",
        ),
    ),
    run=_outline_closed,
)

CHECKS = (OUTLINE_CLOSED,)
