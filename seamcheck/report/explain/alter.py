"""Alterations: what the command does, the places and amounts of a recipe, and every key, told from those that its reader takes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from seamcheck.config.recipe_keys import EVERY, FIT, MOVES, RECIPE
from seamcheck.report.explain.laid_out import block, rows, table, titled, topic
from seamcheck.report.layout import wrap

if TYPE_CHECKING:
    from seamcheck.config.settings import Settings
    from seamcheck.engine.plugins import Registry
    from seamcheck.engine.report_format import RenderOptions

INTRODUCTION = (
    'An alteration is rehearsed before the paper is cut: "seamcheck alter FILE FIT" tells what each edge, notch, dart and grain arrow '
    "would do, which seams would no longer true and by how much, what then follows, and what is beyond sense. With --output NEW it "
    'is carried out; beside NEW lie its recipe, NAME.alter.toml, and its plan. "seamcheck alter NEW --undo --output OLD" gives back '
    "the pattern before it, to the byte.",
    "The parts of a piece turn as paper turns: all that lies on a part goes with it, its grain, darts, notches, drill holes, lines "
    "and cut line. Across a gap a straight stub is ruled; where parts overlap, the one line is followed to where the other crosses it. "
    "Then what is left is blended between the nearest marks that stay, the grain is ruled straight through the part that lay "
    "still, what a step gives back is given back, and the pattern is trued with all that hangs on it. With --leave it stays as it "
    "is taped.",
    'Which fit it is, "seamcheck alter --which" asks by what is seen in the cloth; the page of "seamcheck watch FILE" asks the same with '
    "small drawings under Alter, ranks the fits, and rehearses the one that is chosen while its amount is moved.",
)
EXAMPLE = """\
format = 1

[[steps]]
fit = "full-seat"
piece = "back"
amount = "1/4 in"

[[steps]]
move = "hinge"
piece = "back"
cut = ["outseam 425 mm from side-hem", "inseam 383 mm from crotch-point"]
hinge = "inseam"
overlap = "1/4 in"
relief = [["0.5 of cut", "crotch 150 mm from crotch-point"]]
give-back = { edge = "outseam", end = "side-waist" }
"""
PLACES = (
    ("side-hem", "a corner"),
    ("outseam 425 mm from side-hem", "so far along an edge from a corner at one of its ends: mm, cm or in"),
    ("outseam 40 % from side-hem", "a share of the edge"),
    ("notch 2 of outseam", "a notch, counted from where the edge starts in the plan"),
    ("0.5 of cut", "in a relief cut: a share of the cut itself, from the end that is written first"),
)
AMOUNTS = '"6.35 mm", "1/4 in", "1 1/2 in", "0.5 cm"; a mere number is mm.'
CLOSING = (
    "Steps are made in order, and each place is found again on what those before have left. In a graded nest distances are meant "
    "in the sample size, or the first; in the others a place lies at the same share of its edge, and the amount is the same.",
    "A piece that is cut as a pair is altered on both sides. With --only-left it is cut as two: NEW has the left one as it is altered and "
    "beside the sheet the right one as it was, mirrored, with its name; the plan beside NEW has both, back-left and back-right, each cut "
    "once, and the seams of both. Where the two are sewn to one another, and what is cut on a fold, is told.",
    'One step on the command line, its keys as above with commas between: --step \'move = "scoop", piece = "back", edge = "crotch", '
    'from = "crotch 110 mm from cb-waist", to = "crotch-point", deeper = "1/4 in"\'.',
)


def tell(registry: Registry, settings: Settings, options: RenderOptions) -> str:
    """What alter does, a recipe, its places, and every key of it."""
    return topic(
        [
            *(wrap(part, options) for part in INTRODUCTION),
            wrap("A recipe:", options),
            block(EXAMPLE),
            titled("Places, as people say them:", rows(PLACES, options), options),
            wrap(f"Amounts: {AMOUNTS}", options),
            table(RECIPE, options),
            table(FIT, options),
            *(
                table(keys._replace(meaning=f"move = {name!r}: {keys.meaning}".replace("'", '"')), options)
                for name, keys in MOVES.items()
            ),
            titled(
                "In every step of a move:",
                rows([(f"{name} = {key.value}", key.meaning) for name, key in EVERY.items()], options),
                options,
            ),
            *(wrap(part, options) for part in CLOSING),
        ]
    )
