"""The seam plan, told from the keys that its reader takes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from seamcheck.config import plan_keys
from seamcheck.report.explain.laid_out import block, table, topic
from seamcheck.report.layout import wrap

if TYPE_CHECKING:
    from seamcheck.config.settings import Settings
    from seamcheck.engine.plugins import Registry
    from seamcheck.engine.report_format import RenderOptions

INTRODUCTION = (
    "No pattern file says which edges are sewn together; the seam plan does. It is a TOML file, NAME.seams.toml beside "
    "NAME.svg or NAME.dxf, or any that --plan names. Without one, check walks only the seams that it is sure of, says so, "
    'and asks about the rest; with "--guess" it walks its best guesses too, and says which they are.',
    'Nobody has to begin with an empty page: "seamcheck pair NAME.svg --output NAME.seams.toml" writes one from lengths, '
    "notches, corners, curves, grain and the words on the pieces, weighed as was learned from drafted patterns whose seams "
    'are known. What is sure stands in it as a seam; a best guess, and what is less likely, as a question behind "#". With '
    '"--ask" it asks on the terminal what single edges are sewn to, likely mates first and then any, and which ends meet where '
    'that is not clear: each answer bears on the rest. "--like OTHER" takes over '
    "names, cuts, unsewn edges and seams from a pattern with a plan, last season's say, or from a folder of such. Beside the plan lies a "
    'page on which two clicks sew two edges together; "seamcheck watch NAME.svg" shows the same page with seamcheck behind it, '
    "which solves again with each answer and writes the plan at each step. A plan has no place for what is not sewn: what is refused "
    "there is kept in your own folder for settings, refused/ in ~/.config/seamcheck or what stands for it, and is not proposed "
    "again while the plan is there. To write one by hand, see what was read first: "
    '"seamcheck pieces NAME.svg".',
)
SHORTEST = """\
format = 1

[pieces.front]
cut = "pair"
unsewn = ["side", "hem", "waist"]

[pieces.front.corners]
side-top = [10, 10]
side-hem = [10, 610]
centre-hem = [250, 610]
centre-top = [250, 10]

[pieces.front.edges]
side = ["side-top", "side-hem"]
hem = ["side-hem", "centre-hem"]
centre = ["centre-top", "centre-hem"]
waist = ["centre-top", "side-top"]

[[seams]]
name = "centre"
sew = ["front.centre", "front.centre"]
"""
CLOSING = (
    "A key that is not known is an error that names the line and the nearest key. Edges that are in no seam, unsewn or a "
    "fold are told. An edge may be in several seams: layers, or copies of a piece that is cut more than once.",
    "The plan goes on serving the pattern after an alteration. Corners are found again when they moved, and when the piece "
    "was moved, turned, mirrored or digitised. A corner that is not sure is reported, never guessed. In a graded nest the "
    "corners are given in one size, and the others follow.",
    f"A plan has {plan_keys.MOST_PIECES} pieces at most, each with {plan_keys.MOST_CORNERS} corners and as many edges, and "
    f"{plan_keys.MOST_SEAMS} seams with {plan_keys.MOST_IN_A_ROW} edges in a row on a side. One with more is refused: part it.",
)


def tell(registry: Registry, settings: Settings, options: RenderOptions) -> str:
    """What a plan is, the shortest one, and every key."""
    tables = (plan_keys.PLAN, *plan_keys.TABLES)
    return topic(
        [
            *(wrap(part, options) for part in INTRODUCTION),
            wrap("A short plan, whole: one piece that is sewn to its mirror twin.", options),
            block(SHORTEST),
            wrap("All that a plan may hold, as it may be written:", options),
            *(table(keys, options) for keys in tables),
            *(wrap(part, options) for part in CLOSING),
        ]
    )
