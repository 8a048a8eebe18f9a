"""Trouser knowledge for seamcheck: checks on legs, rises and waist, and hints which edges of legs are sewn together."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from seamcheck.plugin import Check, PairingHint, Pattern

__version__ = "0.1.0"


def seamcheck_register_checks(register: Callable[[Check], None]) -> None:
    """Register every check of the package."""
    from seamcheck_trousers import legs, rises, waist

    for check in (*rises.CHECKS, *legs.CHECKS, *waist.CHECKS):
        register(check)


def seamcheck_pairing_hints(pattern: Pattern, register: Callable[[PairingHint], None]) -> None:
    """Tell which edges of a front and a back leg belong together."""
    from seamcheck_trousers.hints import hints

    for hint in hints(pattern):
        register(hint)
