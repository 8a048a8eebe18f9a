"""The parts that seamcheck itself brings, registered as a plugin registers its own."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from typing import TYPE_CHECKING

from seamcheck.hooks import hookimpl

if TYPE_CHECKING:
    from seamcheck.checks.base import Check
    from seamcheck.importers.base import Importer
    from seamcheck.report.base import ReportFormat

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
    "shapes",
    "inside",
    "allowances",
    "labels",
    "scale",
    "plans",
    "earlier",
)
IMPORTERS = ("svg", "apparel_dxf", "plain_dxf")
REPORTS = ("text", "json", "jsonl", "html", "svg", "junit", "sarif", "github", "markdown")


@hookimpl
def seamcheck_register_checks(register: Callable[[Check], None]) -> None:
    """Register the checks of every family."""
    for module in CHECKS:
        for check in import_module(f"seamcheck.checks.{module}").CHECKS:
            register(check)


@hookimpl
def seamcheck_register_importers(register: Callable[[Importer], None]) -> None:
    """Register the reader of every format."""
    for module in IMPORTERS:
        register(import_module(f"seamcheck.importers.{module}").IMPORTER)


@hookimpl
def seamcheck_register_reports(register: Callable[[ReportFormat], None]) -> None:
    """Register the report formats."""
    for module in REPORTS:
        register(import_module(f"seamcheck.report.{module}").REPORT)
