"""What a check means, for the eye: made from its own metadata, nothing is told twice."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from seamcheck import wording
from seamcheck.checks.base import Check, Code, Unit
from seamcheck.grading import tolerance_of
from seamcheck.report.base import RenderOptions
from seamcheck.report.layout import paint, wrap

if TYPE_CHECKING:
    from seamcheck.registry import Registry
    from seamcheck.settings import Settings


def overview(registry: Registry, options: RenderOptions) -> str:
    """All checks by family, one line each."""
    parts = [wrap("Each check holds when:", options)]
    width = max((len(check.name) for check in registry.checks), default=0)
    for family in sorted({check.family for check in registry.checks}):
        lines = [paint(family, "strong", options)]
        for check in registry.checks:
            if check.family == family:
                told = f"{check.name:{width}}  {check.meaning}{_owner(check, registry)}"
                lines.append(wrap(told, options, indent="  ", hanging=" " * (width + 4)))
        parts.append("\n".join(lines))
    parts.append(wrap('"seamcheck explain CHECK" tells one in full.', options))
    return "\n\n".join(parts) + "\n"


def explanation(
    check: Check, code: str | None, registry: Registry, settings: Settings, options: RenderOptions
) -> str:
    """One check in full, or one code of it: what, why, how to put it right, by what measure, how to accept it."""
    codes = [one for one in check.codes if code in (None, one.name)]
    name = f"{check.name}/{code}" if code else check.name
    parts = [
        f"{paint(name, 'strong', options)} ({check.family}{_owner(check, registry)})",
        wrap(f"Holds when {_ended(check.meaning)}", options),
        wrap(f"Why: {check.why}", options),
        wrap(f"Do: {check.remedy}", options),
        *(wrap(told, options) for told in _measures(check, codes, settings)),
        wrap(f"Source: {check.source}", options),
    ]
    lines = ["It says:"]
    for one in codes:
        graded = f" (always {_article(one.severity.value)})" if one.severity else ""
        lines.append(
            wrap(f"{check.name}/{one.name}: {_ended(one.meaning + graded)}", options, indent="  ", hanging="    ")
        )
    set_by_shop = _shop_severities(check, [one.name for one in codes], settings)
    if set_by_shop:
        lines.append(wrap(set_by_shop, options))
    parts.append("\n".join(lines))
    accept = "To accept one, say so in the plan; narrow it down with seam, piece, edge or size, and always say why:"
    parts.append(wrap(accept, options))
    parts.append(f'    [[accepted]]\n    check = "{name}"\n    seam = "SEAM"\n    why = "REASON"')
    return "\n\n".join(parts) + "\n"


def _measures(check: Check, codes: Sequence[Code], settings: Settings) -> Iterable[str]:
    """The tolerances and what their bands mean: once for all codes that share them."""
    shared: dict[tuple[float, Unit], list[str]] = {}
    for code in codes:
        tolerance, unit = tolerance_of(check, code, settings)
        if tolerance is not None and unit is not None and code.severity is None:
            shared.setdefault((tolerance, unit), []).append(code.name)
    if not shared:
        yield "Nothing is measured: it holds or it does not."
    for (tolerance, unit), names in shared.items():
        say = wording.length if unit is Unit.LENGTH else wording.angle
        half, whole, twice = (say(tolerance * factor) for factor in (0.5, 1, 2))
        of = f" of {wording.listed([f'{check.name}/{name}' for name in names])}" if len(shared) > 1 else ""
        keys = {check.name, *(f"{check.name}/{name}" for name in names)}
        shop = f", set by the shop in {settings.path}" if keys & settings.tolerances.keys() else ""
        yield (
            f"Tolerance{of}: {whole}{shop}. Up to {half} nothing is said, up to {whole} it is a note, "
            f"up to {twice} a warning, beyond that an error."
        )


def _shop_severities(check: Check, codes: Sequence[str], settings: Settings) -> str:
    graded = {code: settings.severity(check.name, code) for code in codes}
    told = [
        f"{check.name}/{code} is {'turned off' if severity == 'off' else f'always {_article(severity)}'}"
        for code, severity in graded.items()
        if severity
    ]
    return f"By the shop settings in {settings.path}: {wording.listed(told)}." if told else ""


def _article(severity: str) -> str:
    return f"an {severity}" if severity == "error" else f"a {severity}"


def _owner(check: Check, registry: Registry) -> str:
    plugin = registry.plugin_of.get(check.name, "builtin")
    if plugin == "builtin":
        return ""
    return f", from {plugin}" if plugin.endswith(".toml") else f", from the plugin {plugin}"


def _ended(sentence: str) -> str:
    return sentence if sentence.endswith((".", "!", "?")) else sentence + "."
