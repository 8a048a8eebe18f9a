"""What a check means, for the eye: made from its own metadata, nothing is told twice."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, NamedTuple

from seamcheck import amounts
from seamcheck.checks.base import DEFAULT, Check, Code
from seamcheck.engine.grading import BANDS, in_force
from seamcheck.engine.report_format import RenderOptions
from seamcheck.report.layout import paint, wrap

if TYPE_CHECKING:
    from seamcheck.config.settings import Settings
    from seamcheck.engine.plugins import Registry
    from seamcheck.engine.result import InForce


class Family(NamedTuple):
    """What the checks of a family look at, and by what a plan narrows down a finding of theirs that it accepts."""

    title: str
    accept_by: str


BANDS_TOLD = (
    "In square brackets stands the tolerance; a check without one sees and does not measure. Up to half of its tolerance a "
    "difference is nothing, up to the tolerance a note, up to twice a warning, beyond that an error. Where a line is traced in chords "
    "that go to and fro beside their curve, every band is wider by what they leave uncertain, and the finding says so."
)

# In the order in which a pattern is looked over: what is sewn first, then each piece by itself, then all of them.
FAMILIES = {
    "seams": Family("the two sides of a seam", "seam"),
    "junctions": Family("lines that run across a seam", "piece"),
    "edges": Family("the line of one edge", "edge"),
    "darts": Family("darts and pleats", "piece"),
    "grain": Family("grain and fold", "piece"),
    "allowances": Family("seam allowances", "edge"),
    "outlines": Family("what makes a piece cuttable", "piece"),
    "shapes": Family("pieces beside each other", "piece"),
    "labels": Family("what is written on a piece", "piece"),
    "scale": Family("the scale of the whole drawing", "piece"),
    "reading": Family("what was read of the file", "piece"),
    "sizes": Family("from size to size", "size"),
    "earlier": Family("against the file before an alteration", "piece"),
    "plan": Family("plan and file", "piece"),
}


def overview(registry: Registry, settings: Settings, options: RenderOptions) -> str:
    """All checks by family, one line each, with the tolerance in force, and what the tolerance means."""
    parts = [wrap("Each check holds when:", options)]
    width = max((len(check.name) for check in registry.checks), default=0)
    others = sorted({check.family for check in registry.checks} - FAMILIES.keys())
    for family in (*FAMILIES, *others):
        checks = [check for check in registry.checks if check.family == family]
        if not checks:
            continue
        title = f": {FAMILIES[family].title}" if family in FAMILIES else ""
        lines = [paint(family, "strong", options) + wrap(f"{family}{title}", options, hanging="  ")[len(family) :]]
        for check in checks:
            told = f"{check.name:{width}}  {check.meaning}{_within(check, settings)}{_owner(check, registry)}"
            lines.append(wrap(told, options, indent="  ", hanging=" " * (width + 4)))
        parts.append("\n".join(lines))
    parts.append(wrap(BANDS_TOLD, options))
    parts.append(wrap('"seamcheck explain CHECK" tells one in full.', options))
    return "\n\n".join(parts) + "\n"


def _within(check: Check, settings: Settings) -> str:
    """The tolerances of a check, in brackets; "" where it measures nothing."""
    told = [
        amounts.angle(row.tolerance) if row.unit == "degrees" else amounts.length(row.tolerance)
        for row in in_force(check, settings)
        if row.tolerance is not None
    ]
    return f" [{amounts.listed(tuple(dict.fromkeys(told)))}]" if told else ""


def explanation(
    check: Check, code: str | None, registry: Registry, settings: Settings, options: RenderOptions
) -> str:
    """One check in full, or one code of it: what, why, how to put it right, by what measure, how to accept it."""
    codes = [one for one in check.codes if code in (None, one.name)]
    rows = [row for row in in_force(check, settings) if code is None or code in row.codes]
    name = f"{check.name}/{code}" if code else check.name
    family = FAMILIES.get(check.family)
    of = f"{check.family}: {family.title}" if family else check.family
    parts = [
        f"{paint(name, 'strong', options)} ({of}{_owner(check, registry)})",
        wrap(f"Holds when {_ended(check.meaning)}", options),
        wrap(f"Why: {check.why}", options),
        wrap(f"Do: {check.remedy}", options),
        "\n".join(_says(check, codes, options)),
        "\n".join(wrap(told, options, hanging="  ") for told in _measures(check, rows, single=code is not None)),
        wrap(f"Source: {_ended(check.source)}", options),
        "\n".join(_shop(check, rows, options)),
        "\n".join(_accept(name, family, options)),
    ]
    return "\n\n".join(part for part in parts if part) + "\n"


def _says(check: Check, codes: Sequence[Code], options: RenderOptions) -> Iterator[str]:
    yield "It says:"
    for one in codes:
        yield wrap(f"{check.name}/{one.name}: {_ended(one.meaning)}", options, indent="  ", hanging="    ")


def _measures(check: Check, rows: Sequence[InForce], *, single: bool) -> Iterator[str]:
    """The tolerances and severities in force, each with where it comes from and what its bands come to."""
    for row in rows:
        of = "" if single or len(rows) == 1 else f" of {amounts.listed([f'{check.name}/{one}' for one in row.codes])}"
        if row.tolerance is not None:
            say = amounts.angle if row.unit == "degrees" else amounts.length
            half, whole, twice = (say(row.tolerance * factor) for factor in (0.5, 1, 2))
            told = f"Tolerance{of}: {whole}, {_origin(row.tolerance_from)}."
            if row.severity == BANDS:
                told += (
                    f" Up to {half} nothing is said, up to {whole} it is a note, up to {twice} a warning, beyond that "
                    "an error."
                )
            yield told
        if row.severity != BANDS:
            word = "turned off" if row.severity == "off" else f"always {_article(row.severity)}"
            measured = " It is seen and not measured." if row.tolerance is None else ""
            yield f"Severity{of}: {word}, {_origin(row.severity_from)}.{measured}"
    if check.tolerance_like and check.tolerance_like != check.name:
        yield f"Where the shop sets none for it, it follows the tolerance that the shop sets for {check.tolerance_like}."


def _shop(check: Check, rows: Sequence[InForce], options: RenderOptions) -> Iterator[str]:
    yield wrap("To judge it otherwise in the whole shop, say so in seamcheck.toml:", options)
    measured = next((row for row in rows if row.tolerance is not None), None)
    if measured is not None:
        # Where a code has a tolerance of its own, it is set by its own name.
        key = (
            check.name
            if len(rows) > 1 or len(measured.codes) == len(check.codes)
            else f"{check.name}/{measured.codes[0]}"
        )
        if any(one.name in measured.codes and one.tolerance is not None for one in check.codes):
            key = f"{check.name}/{measured.codes[0]}"
        yield f"    [tolerances]\n    {_key(key)} = {measured.tolerance:g}"
    yield f'    [severity]\n    {_key(check.name)} = "note"                  # or "error", "warning", "off"'


def _key(name: str) -> str:
    return f'"{name}"' if "/" in name else name


def _accept(name: str, family: Family | None, options: RenderOptions) -> Iterator[str]:
    by = family.accept_by if family else "piece"
    yield wrap(
        "To accept one place, say so in the plan; narrow it down with seam, piece, edge or size, and always say why:",
        options,
    )
    yield f'    [[accepted]]\n    check = "{name}"\n    {by} = "{by.upper()}"\n    why = "REASON"'


def _origin(source: str) -> str:
    return "by default" if source == DEFAULT else f"set by the shop in {source}"


def _article(severity: str) -> str:
    return f"an {severity}" if severity == "error" else f"a {severity}"


def _owner(check: Check, registry: Registry) -> str:
    plugin = registry.plugin_of.get(check.name, "builtin")
    return "" if plugin == "builtin" else f", from the plugin {plugin}"


def _ended(sentence: str) -> str:
    return sentence if sentence.endswith((".", "!", "?")) else sentence + "."
