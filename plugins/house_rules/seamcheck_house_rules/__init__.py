"""House rules to copy: what a shop adds to seamcheck, one example of each kind.

    notched.py      a check that is one function
    cloth.py        a check with options in the shop's settings
    templates.py    a check that compares sizes
    kit_layers.py   a reader for layer names of the shop's own
    ticket.py       a report
    boots.py        a fit, which is an alteration by name

This module is what the entry point names. Each function below is a hook: seamcheck calls it once when a command starts, and it
registers what the package brings. Imports stand inside, so that a command that needs no reader loads none.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from seamcheck.plugin import Check, Fit, Importer, ReportFormat

__version__ = "0.1.0"


def seamcheck_register_checks(register: Callable[[Check], None]) -> None:
    """Register the checks."""
    from seamcheck_house_rules import cloth, notched, templates

    for check in (notched.CHECK, cloth.CHECK, templates.CHECK):
        register(check)


def seamcheck_register_importers(register: Callable[[Importer], None]) -> None:
    """Register the reader."""
    from seamcheck_house_rules.kit_layers import IMPORTER

    register(IMPORTER)


def seamcheck_register_reports(register: Callable[[ReportFormat], None]) -> None:
    """Register the report."""
    from seamcheck_house_rules.ticket import REPORT

    register(REPORT)


def seamcheck_register_alterations(register: Callable[[Fit], None]) -> None:
    """Register the fit."""
    from seamcheck_house_rules.boots import BOOTS

    register(BOOTS)
