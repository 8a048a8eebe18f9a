"""What each version brought, and what of the program stays as it is from one version to the next.

A version that is published gets its entry here, the newest first; what changes names, keys or results says so by a word of
its own: "added", "changed", "goes".
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from seamcheck.report.explain.laid_out import titled, topic
from seamcheck.report.layout import wrap

if TYPE_CHECKING:
    from seamcheck.config.settings import Settings
    from seamcheck.engine.plugins import Registry
    from seamcheck.engine.report_format import RenderOptions

CHANGES = {
    "0.1.0": (
        "The first version: check, pieces, pair, watch, compare, true, alter, explain, schema, plugins, trust and demo.",
        "Reads SVG, DXF drawings and DXF of the apparel interchange.",
    ),
}
STAYS = (
    "Names of commands, options, checks, their codes and reasons, formats, hooks, and the keys of plans and settings keep "
    "their meaning within a major version. What comes is added: a plan or a shop's settings of today can be read tomorrow.",
    'JSON: a key may be added, none is renamed, none changes its meaning. Should that ever have to be, the number in "schema" '
    '("seamcheck.report/1") rises.',
    "What a plugin is made of: the names in seamcheck.plugin and seamcheck.testing, likewise. Nothing else in the package is "
    "promised; it may move in any version.",
    "What goes is told as going, with what comes in its stead, for one minor version more: a DeprecationWarning in Python, "
    "a sentence on stderr on the command line.",
    "Exit codes never change. 0: all was judged, and nothing is at or above --fail-on. 1: something is. 2: something could not "
    "be judged, or no plan says what some edges are sewn to (--partial accepts that).",
    "Not promised: the words of a sentence, the looks of a page or a drawing, and a number beyond its last digit that counts. "
    "A check may become more exact, and may find what it passed over; the entry of that version says so.",
)


def tell(registry: Registry, settings: Settings, options: RenderOptions) -> str:
    """The changes of every version, the newest first, and the policy."""
    return topic(
        [
            *(
                titled(f"Version {version}:", [_item(change, options) for change in changes], options)
                for version, changes in CHANGES.items()
            ),
            titled("What stays as it is:", [_item(sentence, options) for sentence in STAYS], options),
        ]
    )


def _item(text: str, options: RenderOptions) -> str:
    return wrap(f"- {text}", options, indent="  ", hanging="    ")
