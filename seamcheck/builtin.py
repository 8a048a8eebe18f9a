"""The parts that seamcheck itself brings, registered as a plugin registers its own."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from importlib import import_module
from typing import TYPE_CHECKING

from seamcheck.spelling import by_name

if TYPE_CHECKING:
    from seamcheck.checks.base import Check
    from seamcheck.engine.report_format import ReportFormat
    from seamcheck.fits.fit import Fit
    from seamcheck.pattern.drawing import Drawing
    from seamcheck.reading.base import Importer, Source

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
# The reader of each format: its name, what the format is called, where it lies, and what such a file may begin with.
DIGITS = tuple(b"%d" % digit for digit in range(10))
IMPORTERS = (
    ("svg", "an SVG drawing", "svg.reader", (b"<", b"\x1f\x8b")),  # the second begins what is compressed
    ("apparel-dxf", "a DXF of the apparel interchange", "dxf.apparel", DIGITS),
    ("plain-dxf", "a DXF drawing", "dxf.plain", (*DIGITS, b"AutoCAD Binary DXF")),
)
ROOMS = {"html": "html.page", "table": "rows"}  # where a report lies that is not called as it is
FITS = ("trousers",)
REPORTS = ("text", "json", "jsonl", "html", "svg", "junit", "sarif", "github", "markdown", "table")


def seamcheck_register_checks(register: Callable[[Check], None]) -> None:
    """Register the checks of every family."""
    for module in CHECKS:
        for check in import_module(f"seamcheck.checks.{module}").CHECKS:
            register(check)


def seamcheck_register_importers(register: Callable[[Importer], None]) -> None:
    """Register the reader of every format."""
    for name, meaning, module, begins in IMPORTERS:
        register(_importer(name, meaning, f"seamcheck.reading.{module}", begins))


@cache
def _importer(name: str, meaning: str, module: str, begins: tuple[bytes, ...]) -> Importer:
    """A reader that is itself loaded only for a file that may be its own."""

    def recognises(source: Source) -> bool:
        # In whatever encoding: byte order marks and the zeros of wide letters are taken off.
        head = source.data[:4096].replace(b"\x00", b"").lstrip(b"\xef\xbb\xbf\xff\xfe \t\r\n")
        return head.startswith(begins) and bool(import_module(module).recognises(source))

    def read(source: Source) -> Drawing:
        drawing: Drawing = import_module(module).read(source)
        return drawing

    importer: Importer = import_module("seamcheck.reading.base").Importer(name, meaning, recognises, read)
    return importer


def seamcheck_register_reports(register: Callable[[ReportFormat], None]) -> None:
    """Register the report formats."""
    for module in REPORTS:
        register(import_module(f"seamcheck.report.{ROOMS.get(module, module)}").REPORT)


def seamcheck_register_alterations(register: Callable[[Fit], None]) -> None:
    """Register the fits of every garment."""
    for module in FITS:
        for fit in import_module(f"seamcheck.fits.{module}").all_fits():
            register(fit)


def builtin_importer(name: str) -> Importer:
    """A reader that seamcheck itself brings, to build another on: "svg", "plain-dxf" or "apparel-dxf".

    UnknownNameError, a KeyError that names the nearest, for another.
    """
    importers: list[Importer] = []
    seamcheck_register_importers(importers.append)
    return by_name(importers, name, "seamcheck", "importer")
