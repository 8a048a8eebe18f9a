"""The parts that seamcheck itself brings, registered as a plugin registers its own."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from typing import TYPE_CHECKING

from seamcheck.spelling import by_name

if TYPE_CHECKING:
    from seamcheck.checks.base import Check
    from seamcheck.engine.report_format import ReportFormat
    from seamcheck.reading.base import Importer

CHECKS = (
    "seams",
    "ease",
    "notches",
    "junctions",
    "edges",
    "grain",
    "darts",
    "pleats",
    "outlines",
    "sizes",
    "mirror_and_square",
    "inside",
    "allowances",
    "labels",
    "scale",
    "readings",
    "plans",
    "against_earlier",
)
IMPORTERS = ("svg.reader", "dxf.apparel", "dxf.plain")
ROOMS = {"html": "html.page"}  # where a report lies that has a room of its own
REPORTS = ("text", "json", "jsonl", "html", "svg", "junit", "sarif", "github", "markdown")


def seamcheck_register_checks(register: Callable[[Check], None]) -> None:
    """Register the checks of every family."""
    for module in CHECKS:
        for check in import_module(f"seamcheck.checks.{module}").CHECKS:
            register(check)


def seamcheck_register_importers(register: Callable[[Importer], None]) -> None:
    """Register the reader of every format."""
    for module in IMPORTERS:
        register(import_module(f"seamcheck.reading.{module}").IMPORTER)


def seamcheck_register_reports(register: Callable[[ReportFormat], None]) -> None:
    """Register the report formats."""
    for module in REPORTS:
        register(import_module(f"seamcheck.report.{ROOMS.get(module, module)}").REPORT)


def builtin_importer(name: str) -> Importer:
    """A reader that seamcheck itself brings, to build another on: "svg", "plain-dxf" or "apparel-dxf".

    UnknownNameError, a KeyError that names the nearest, for another.
    """
    importers: list[Importer] = []
    seamcheck_register_importers(importers.append)
    return by_name(importers, name, "seamcheck", "importer")
