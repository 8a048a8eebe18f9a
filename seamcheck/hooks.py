"""The hooks of a plugin, under the name by which plugins have known them."""

from seamcheck.engine.hookspecs import (
    hookimpl,
    hookspec,
    seamcheck_pairing_hints,
    seamcheck_register_alterations,
    seamcheck_register_checks,
    seamcheck_register_importers,
    seamcheck_register_reports,
)

__all__ = [
    "hookimpl",
    "hookspec",
    "seamcheck_pairing_hints",
    "seamcheck_register_alterations",
    "seamcheck_register_checks",
    "seamcheck_register_importers",
    "seamcheck_register_reports",
]
