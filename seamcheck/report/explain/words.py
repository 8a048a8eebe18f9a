"""The words that messages and plans use: those of the trade and of open standards, and a few plain ones of our own."""

from __future__ import annotations

from typing import TYPE_CHECKING

from seamcheck.report.explain.laid_out import rows, titled, topic
from seamcheck.report.layout import wrap

if TYPE_CHECKING:
    from seamcheck.config.settings import Settings
    from seamcheck.engine.plugins import Registry
    from seamcheck.engine.report_format import RenderOptions

# By what they are about; each word with its meaning in the order in which one needs the other.
WORDS = {
    "A piece": {
        "piece": "one shape to cut, in one size",
        "size": "one of the sizes that a pattern is graded in; they are drawn in one file, often as a nest, inside one another",
        "outline": "the closed line of a piece in the file; it is the sew line or the cut line",
        "sew line": "where the stitches go; seams are walked along it",
        "cut line": "where the scissors go",
        "allowance": "the distance between sew line and cut line",
        "corner": "a point where one edge ends and the next begins; usually an angle, but it may lie on a smooth line",
        "edge": "the stretch of outline from one corner to the next, called PIECE.EDGE",
        "fold": "an edge that lies on the folded cloth; the piece is drawn as a half",
        "kink": "a point inside an edge where the line turns and should run on smoothly",
        "digitised": "drawn as many short straight lines, the chords, where the line of the paper was a curve",
    },
    "Marks": {
        "notch": "a mark on an edge that meets its like on the edge it is sewn to",
        "station": "how far along the sew line a notch lies from the start of its edge",
        "dart": "cloth that is folded away: two legs and a tip; its mouth is not part of the edge that it opens on",
        "mouth": "the stretch of edge between the two legs of a dart",
        "pleat": "cloth that is folded to one side and caught in a seam",
        "grain arrow": "the line that is laid along the threads of the cloth, also called grainline",
        "crease": "the line down the middle of a trouser leg, along the grain",
        "drill hole": "a point inside a piece that is marked through the cloth, for a pocket or a dart's tip",
        "inside line": "a line inside a piece that is not cut, such as where a pocket lies",
        "test square": "a square of a stated size, to see at what scale a drawing is printed",
    },
    "A seam": {
        "seam": "two sides that are sewn together, each one edge or several in a row",
        "mate": "the other side of a seam; of a notch, the one that it meets",
        "mirror twin": "the same piece cut the other way round: left and right",
        "walk": "to lay one side of a seam on the other from their common start, notch by notch",
        "stretch": "the part of a seam between two notches that match",
        "ease": "a planned difference: how much longer one side is, in mm, so that it covers a fuller body",
        "gather": "a planned ratio between two sides: the longer is drawn together",
        "junction": "corners that come to lie on one point once the seams are sewn",
        "step": "a place where a line jumps to one side: inside an edge, or where it runs across a seam",
        "plan": "the seam plan: the file that says which edges are sewn together",
    },
    "What is done": {
        "true": "to make two sides equal in length, and the lines across them run on; a pattern trues where that holds",
        "blend": "to redraw a line so that it runs on smoothly, between the nearest marks that stay: a notch or a corner",
        "slash": "to cut a paper pattern so that it can be overlapped or spread",
        "hinge": "the point that a slashed part turns about; nothing is gained or lost there",
    },
    "What is told": {
        "tolerance": "the difference that is still right: up to half of it nothing is said, up to all of it a note",
        "finding": "something that does not true: an error, a warning or a note, by its amount",
        "cause": "one thing that went wrong, such as a piece that was altered and not trued; it is put right in one go",
        "sign": "a finding that comes of the same cause; it is listed below it and goes with it",
        "recipe": "the steps that put a cause right, tried in this order: those that true proposes",
        "skipped": "a check that had nothing to judge by, with the reason; green must mean looked at",
        "accepted": "a finding that the plan says is meant, and why",
    },
}


def tell(registry: Registry, settings: Settings, options: RenderOptions) -> str:
    """Every word with its meaning, by what it is about."""
    return topic(
        [
            wrap("Words as they are used in messages, in plans and in reports.", options),
            *(titled(f"{about}:", rows(list(words.items()), options), options) for about, words in WORDS.items()),
        ]
    )
