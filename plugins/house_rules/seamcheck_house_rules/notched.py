"""A check that is one function: every long seam has a notch.

The function sees one size of a pattern. It yields an `Observation` for what it saw and a `Skip`, with the reason, for what it
could not judge. It neither grades nor writes sentences: those stand in the `Check`, once, for people and for `seamcheck explain`.
"""

from __future__ import annotations

from collections.abc import Iterator

from seamcheck.amounts import Length, Name
from seamcheck.checks.base import Check, Code, Context, Observation, Severity

LONG = 300.0  # mm


def long_seams_are_notched(context: Context) -> Iterator[Observation]:
    """Yield an observation for each long seam without a notch on either side."""
    for walk in context.walks:
        side = walk.seam.first
        if side.length > LONG and not any(edge.notches for edge in (*side.edges, *walk.seam.second.edges)):
            yield Observation(
                code="bare",
                seam=walk.name,
                at=side.place(side.length / 2),
                facts={"seam": Name(walk.name), "length": Length(side.length)},
            )


CHECK = Check(
    name="long-seams-notched",
    family="house rules",
    meaning="every seam longer than 300 mm has at least one notch",
    why="On a long seam the cloth creeps under the presser foot, and without a notch nobody sees it before the end.",
    remedy="Notch both sides at the same distance from the same end, near the middle.",
    source="house rule of the kit room; at least one notch in the middle of a long seam: ithacamaven.substack.com, Notches and seam lines",
    codes=(
        Code(
            name="bare",
            meaning="a long seam has no notch",
            message="Seam {seam} is {length} long and has no notch.",
            advice="Notch both sides near the middle, at the same distance from the same end.",
            severity=Severity.NOTE,  # nothing is measured, so the check itself says how much it weighs
        ),
    ),
    run=long_seams_are_notched,
)
