"""The language of a shop's own rules, told from its grammar, its units and its functions."""

from __future__ import annotations

from typing import TYPE_CHECKING

from seamcheck.config.rule_expressions import UNITS
from seamcheck.config.rule_keys import MEASURES, RULE
from seamcheck.config.rule_language import FUNCTIONS, GRAMMAR
from seamcheck.report.explain.laid_out import block, rows, table, titled, topic
from seamcheck.report.layout import wrap

if TYPE_CHECKING:
    from seamcheck.config.settings import Settings
    from seamcheck.engine.plugins import Registry
    from seamcheck.engine.report_format import RenderOptions

INTRODUCTION = (
    "A rule in seamcheck.toml compares what is measured, and becomes a check like any other: explain tells it, [severity] and "
    "[[accepted]] know its name. Nothing of it is ever run as a program."
)
EXAMPLE = """\
[measures]
hem.width = "front.hem + back.hem"

[[rules]]
name = "band-fits-waist"
holds = "band-front.lower + band-back.lower = front.waist + waist of back"

[[rules]]
name = "room-for-a-boot"
holds = "hem.width >= 480 mm"
severity = "error"

[[rules]]
name = "inseam-ease"
holds = "back.inseam - front.inseam between -6 and 0 mm"

[[rules]]
name = "long-seams-are-notched"
for-each = "seam"
when = "length(seam) >= 600 mm"
holds = "notches(seam, 1/3, 2/3) >= 1"
why = "Two of the crew sew one pair, each from her end."

[[rules]]
name = "bands-from-one-strip"
for-each = "piece"
matches = ["band-*"]
holds = "piece.side <= 40 mm"
"""
COMPARED = (
    ("A = B", "both are equal, within the tolerance"),
    ("A <= B", "A is at most B"),
    ("A >= B", "A is at least B"),
    ("A between B and C", "A lies in the range"),
)
SIGNS = (
    ("A + B, A - B", "a minus has spaces round it, because names may hold one"),
    ("A * B, A / B", "by a plain number; two lengths divided are one"),
    ("( ), -A", "as usual"),
    ('"right front".hem', "a name with spaces, or that begins with a digit, stands in quotes"),
)
AMOUNTS = {
    "mm": "340 mm",
    "cm": "34 cm",
    "in": "1 1/2 in",
    "degrees": "90 degrees",
    "%": "5 %",
}
EACH = (
    'With for-each = "seam" the word seam, where no name stands before it, means the seam that the rule is held against: '
    '"length(seam)", or "seam" alone. So do piece and edge in theirs: "width(piece)", "piece.hem", "hem of piece", "notch(edge, 1)". A piece that is really '
    "called so stands in quotes."
)
CLOSING = (
    "A length without a unit is refused, and so is a sum of a length and an angle. A mistake in a rule is one sentence with "
    "its line and column. A rule about pieces that a pattern does not have is listed as skipped, unless it says "
    'missing = "error"; "patterns" then says which patterns the rule is for.'
)


def tell(registry: Registry, settings: Settings, options: RenderOptions) -> str:
    """An example, the keys of a rule, and what may stand in it."""
    functions = [(one.example, one.meaning) for one in FUNCTIONS.values()]
    amounts = [(AMOUNTS.get(unit, f"1 {unit}"), kind.value) for unit, (kind, _) in UNITS.items()]
    return topic(
        [
            wrap(INTRODUCTION, options),
            block(EXAMPLE),
            table(MEASURES, options),
            table(RULE, options),
            titled("What may be compared:", rows(COMPARED, options), options),
            titled("Amounts:", rows(amounts, options), options),
            titled("What is measured:", rows(functions, options), options),
            titled("Sums:", rows(SIGNS, options), options),
            wrap(EACH, options),
            wrap(CLOSING, options),
            titled("The grammar, for who wants it exactly:", block(GRAMMAR).split("\n"), options),
        ]
    )
