"""What the plugins brought, checked and in a fixed order: the one thing that a run is told about plugins."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from seamcheck.checks.base import Check
    from seamcheck.errors import PluginError
    from seamcheck.pattern.model import Pattern
    from seamcheck.reading.base import Importer
    from seamcheck.report.base import ReportFormat


@dataclass(frozen=True, slots=True, kw_only=True)
class PairingHint:
    """What a plugin knows of two edges: that they are sewn together, how surely (0 to 1), and why.

    Edges are named as in a plan, "piece.edge"; "-" before a name walks the edge backwards.
    """

    first: str
    second: str
    confidence: float
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PluginInfo:
    """One plugin: where it comes from, what it brought, and why it could not be used where it could not.

    `package` is the installed package that brings it, "" for a plain file; `file` is where its code lies;
    `version` is "" where it has none. `required` says that the settings name it. A plugin with an `error` brought nothing.
    """

    name: str
    package: str = ""
    version: str = ""
    file: str = ""
    required: bool = False
    checks: tuple[str, ...] = ()
    importers: tuple[str, ...] = ()
    reports: tuple[str, ...] = ()
    hints: bool = False
    error: PluginError | None = None


def _no_hints(_: Pattern) -> tuple[PairingHint, ...]:
    return ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Registry:
    """All checks, importers and report formats, each sorted by name.

    `plugin_of` says which plugin a check comes from. `pairing_hints` asks every plugin about one pattern and
    raises PluginError when one fails. `plugins` are all that were found; `failures` say, one sentence each, which
    of them could not be used or were left out although the settings require them: without those nothing is judged whole.
    """

    checks: tuple[Check, ...]
    importers: tuple[Importer, ...]
    reports: tuple[ReportFormat, ...]
    plugin_of: Mapping[str, str] = field(default_factory=dict)
    pairing_hints: Callable[[Pattern], tuple[PairingHint, ...]] = _no_hints
    plugins: tuple[PluginInfo, ...] = ()
    left_out: tuple[str, ...] = ()

    @property
    def failures(self) -> tuple[str, ...]:
        """Why a run by this registry is not all that the shop asks for."""
        return (*(plugin.error.failure for plugin in self.plugins if plugin.error), *self.left_out)
