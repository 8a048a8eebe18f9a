"""A check with options: every piece fits the cloth that the shop buys.

    [options.house-rules]
    cloth = 1400                       # width between the selvedges, in the units of the settings

`context.settings.options_of` gives the table; its getters raise one clear sentence, with the line, for a wrong value. This check
measures: it yields how far a piece is from what is allowed, and seamcheck's bands make a note, a warning or an error of it.
"""

from __future__ import annotations

from collections.abc import Iterator

from seamcheck.amounts import Length, Name, Unit
from seamcheck.checks.base import Check, Code, Context, Observation, Skip
from seamcheck.geometry.curve import Affine


def pieces_fit_the_cloth(context: Context) -> Iterator[Observation | Skip]:
    """Yield for each piece by how much it is too wide across its grain; 0 where it fits."""
    options = context.settings.options_of("house-rules")
    options.only("cloth", "templates")
    cloth = options.number("cloth")
    if cloth is None:
        yield Skip(reason="no-cloth", why="the shop sets no width of cloth under [options.house-rules]")
        return
    width = cloth * context.settings.unit
    for piece in context.pieces.values():
        if not piece.grainlines:
            yield Skip(reason="no-grain", why="it has no grain arrow to lay it by", piece=piece.name)
            continue
        grain = max(piece.grainlines, key=lambda one: one.length)
        _, low, _, high = piece.drawn.transformed(Affine.rotation(-grain.angle)).bounds()
        opened = 2 if piece.folds else 1  # what is drawn as a half is cut open
        across = opened * (high - low)
        yield Observation(
            code="too-wide",
            deviation=max(across - width, 0.0),
            allowed=(0.0, width),
            pieces=(piece.name,),
            at=grain.points[0],
            facts={"piece": Name(piece.name), "across": Length(across), "cloth": Length(width)},
        )


CHECK = Check(
    name="fits-cloth",
    family="house rules",
    meaning="every piece, laid by its grain arrow, fits between the selvedges of the shop's cloth",
    why="A piece that is too wide is noticed at the cutting table, and then it is turned off the grain to make it fit.",
    remedy="Divide the piece with a seam, or say on the pattern which wider cloth it wants.",
    source="house rule of the kit room",
    tolerance=2.0,
    unit=Unit.LENGTH,
    codes=(
        Code(
            name="too-wide",
            meaning="a piece is wider across the grain than the cloth",
            message="{piece} is {across} wide across its grain; the cloth has {cloth}.",
            advice="Divide the piece with a seam along the grain, or choose a wider cloth.",
        ),
    ),
    run=pieces_fit_the_cloth,
)
