"""The hooks of a plugin: what each is called for, when and how often.

Hooks register; the engine runs. A function of a hook's name is an implementation, with or without the mark
`@hookimpl`; it may leave out arguments that it does not use.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import pluggy

if TYPE_CHECKING:
    from seamcheck.checks.base import Check
    from seamcheck.engine.report_format import ReportFormat
    from seamcheck.fits.fit import Fit
    from seamcheck.pairing.hints import PairingHint
    from seamcheck.pattern.model import Pattern
    from seamcheck.reading.base import Importer

PROJECT = "seamcheck"
hookspec = pluggy.HookspecMarker(PROJECT)
hookimpl = pluggy.HookimplMarker(PROJECT)


# Registration: called once for each plugin when a command starts, before any file is opened.


@hookspec
def seamcheck_register_checks(register: Callable[[Check], None]) -> None:
    """Register checks: call `register(check)` once for each.

    Called once per command, before any file is opened. The check's `run` is called later, once for each size of
    each file, apart from all others: what it raises ends no other check.
    """


@hookspec
def seamcheck_register_importers(register: Callable[[Importer], None]) -> None:
    """Register importers: call `register(importer)` once for each.

    Called once per command, before any file is opened; not called by commands that open none. An importer's
    `recognises` is called at most once for each file, its `read` for the files that it is the first, by name,
    to recognise.
    """


@hookspec
def seamcheck_register_reports(register: Callable[[ReportFormat], None]) -> None:
    """Register report formats: call `register(report)` once for each; its name is then a word for `--format`.

    Called once per command, before any file is opened; not called by commands that open none. Its `render` is
    called once at the end of a run, with the results of all files.
    """


@hookspec
def seamcheck_register_alterations(register: Callable[[Fit], None]) -> None:
    """Register fits, which are alterations by name: call `register(fit)` once for each.

    Called once per command, before any file is opened; not called by commands that open none. A fit's `steps` is called once
    for each size of each piece that is altered by it.
    """


# While a pattern is worked on.


@hookspec
def seamcheck_pairing_hints(pattern: Pattern, register: Callable[[PairingHint], None]) -> None:
    """Tell what is known about which edges are sewn together: call `register(hint)` once for each pair.

    Called once for each pattern that seams are proposed for, after all of its edges are found and before they are
    compared. Never called for a pattern whose plan lists the seams.
    """
