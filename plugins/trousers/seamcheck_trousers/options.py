"""What a shop sets for its trousers, in `[options.trousers]` of its settings.

[options.trousers]
waist = { 38 = 720, 40 = 760 }        # of the body, by size or one number for all; in the units of the settings
waist-ease = [0, 20]                  # how much larger the waist of the trousers may be
thigh = 620                           # girths of the finished leg: at the crotch point, the knee and the hem
knee = 460
hem = 460
straight-side = true                  # the grain lies along a straight outseam and not on the crease
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from seamcheck.plugin import Context, Table

GIRTHS = ("thigh", "knee", "hem")


def options(context: Context) -> Table:
    """The table of options; SettingsError for a key that means nothing."""
    table = context.settings.options_of("trousers")
    table.only("waist", "waist-ease", *GIRTHS, "straight-side")
    return table


def length(context: Context, key: str) -> float | None:
    """A length for this size in mm; None where the shop sets none."""
    table = options(context)
    value = table.values.get(key)
    number = table.table(key).number(context.size) if isinstance(value, dict) else table.number(key)
    return None if number is None else number * context.settings.unit


def waist_ease(context: Context) -> tuple[float, float]:
    """How much larger the waist may be than the body's, in mm."""
    span = options(context).span("waist-ease")
    return (0.0, 25.4) if span is None else (span[0] * context.settings.unit, span[1] * context.settings.unit)


def straight_side(context: Context) -> bool:
    """Whether the grain is meant to lie along the outseam."""
    table = options(context)
    value = table.values.get("straight-side", False)
    if not isinstance(value, bool):
        raise table.wrong('"straight-side" is neither true nor false', "straight-side", remedy="write true or false")
    return value
