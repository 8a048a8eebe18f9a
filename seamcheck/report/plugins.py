"""The plugins of a shop, for the eye and for other programs: what is loaded, from where, and what it brings."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from seamcheck.amounts import count
from seamcheck.engine.report_format import RenderOptions
from seamcheck.report.json import dump
from seamcheck.report.layout import paint, printable, wrap

if TYPE_CHECKING:
    from seamcheck.config.settings import Settings
    from seamcheck.engine.plugins import PluginInfo, Registry

SCHEMA = "seamcheck.plugins/1"
MOST_NAMES = 8


def text(registry: Registry, settings: Settings, options: RenderOptions) -> str:
    """A paragraph for each plugin, in the order of loading."""
    parts = ["\n".join(_paragraph(plugin, settings, options)) for plugin in registry.plugins]
    return "\n\n".join(parts) + "\n"


def _paragraph(plugin: PluginInfo, settings: Settings, options: RenderOptions) -> Iterable[str]:
    title = printable(" ".join(part for part in (plugin.name, plugin.version) if part))
    required = f", required by {settings.path}" if plugin.required else ""
    yield paint(title, "error" if plugin.error else "strong", options) + printable(required)
    where = f"the package {plugin.package}" if plugin.package else "a file of the shop"
    if plugin.package or plugin.file:
        at = str(Path(plugin.file)) if plugin.file else ""
        yield wrap(f"from {where}{f', {at}' if at else ''}", options, indent="  ", hanging="    ")
    if plugin.error is not None:
        yield wrap(f"cannot be used: {plugin.error}", options, indent="  ", hanging="    ")
        return
    brought = [
        _named(plugin.checks, "check"),
        _named(plugin.importers, "reader"),
        _named(plugin.reports, "report"),
        _named(plugin.fits, "fit"),
        "pairing hints" if plugin.hints else "",
    ]
    yield wrap(f"brings {'; '.join(part for part in brought if part)}", options, indent="  ", hanging="    ")


def _named(names: tuple[str, ...], noun: str) -> str:
    if not names:
        return ""
    listed = f" ({', '.join(names)})" if len(names) <= MOST_NAMES else ""
    return f"{count(len(names), noun)}{listed}"


def json(registry: Registry, settings: Settings, options: RenderOptions) -> str:
    """The same as one JSON object."""
    plugins = [
        {
            "name": plugin.name,
            "version": plugin.version or None,
            "package": plugin.package or None,
            "file": plugin.file or None,
            "required": plugin.required,
            "checks": plugin.checks,
            "importers": plugin.importers,
            "reports": plugin.reports,
            "fits": plugin.fits,
            "pairing_hints": plugin.hints,
            "error": None if plugin.error is None else str(plugin.error),
        }
        for plugin in registry.plugins
    ]
    return dump({"schema": SCHEMA, "settings": settings.path or None, "plugins": plugins})


RENDERERS: dict[str, Callable[[Registry, Settings, RenderOptions], str]] = {"text": text, "json": json}
