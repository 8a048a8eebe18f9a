"""What one unit of a DXF file is in mm: as the user says, as the file says, or as the sizes of the pieces leave it.

Nothing is assumed in silence: a unit that had to be found by plausibility is noted, and where more than one
fits the user is asked. An inch is 25.4 mm exactly (ISO 80000-3; ASTM D6673 knows METRIC, mm, and ENGLISH, inch).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np

from seamcheck.amounts import PlainLength, phrase
from seamcheck.errors import InputError
from seamcheck.geometry.curve import Curve
from seamcheck.pattern.drawing import Note
from seamcheck.pattern.scale import FACTORS, plausible
from seamcheck.places import Place
from seamcheck.reading.base import Source
from seamcheck.reading.dxf.records import RawDrawing
from seamcheck.reading.dxf.tags import LARGEST_COORDINATE

NAMES = {"mm": "millimetres", "cm": "centimetres", "in": "inches", "m": "metres", "ft": "feet"}
_WORDS = {
    "metric": "mm",
    "mm": "mm",
    "millimeter": "mm",
    "millimeters": "mm",
    "millimetre": "mm",
    "millimetres": "mm",
    "cm": "cm",
    "centimeter": "cm",
    "centimeters": "cm",
    "centimetre": "cm",
    "centimetres": "cm",
    "english": "in",
    "imperial": "in",
    "inch": "in",
    "inches": "in",
    "in": "in",
}
# $INSUNITS of the DXF reference, as far as a pattern can be drawn in it, with mm per unit.
_INSERT_UNITS = {1: ("in", 25.4), 2: ("ft", 304.8), 4: ("mm", 1.0), 5: ("cm", 10.0), 6: ("m", 1000.0)}


class Units(NamedTuple):
    """The unit of a file: its name, mm per unit, and what to say about how it was found."""

    name: str
    factor: float
    notes: tuple[Note, ...] = ()


def stated_unit(text: str) -> str | None:
    """The unit that a word of a file names; None when it names none."""
    return _WORDS.get(text.strip().strip(".").lower())


def header_unit(raw: RawDrawing) -> tuple[str, float] | None:
    """What the header of the drawing says: its insertion unit, else whether it measures in inches."""
    try:
        unit = _INSERT_UNITS.get(int(float(raw.variable("$INSUNITS") or 0)))
        if unit is None and raw.variable("$MEASUREMENT") and float(raw.variable("$MEASUREMENT")) == 0:
            unit = ("in", 25.4)
    except ValueError:
        return None
    return unit


def find_units(
    source: Source, raw: RawDrawing, stated: Sequence[tuple[str, str]], sizes: Callable[[], Sequence[float]]
) -> Units:
    """Decide on the unit.

    `stated` are what texts and companions say, strongest first, as (who says it, unit); `sizes` gives the longer
    sides of the pieces in file units, for when nothing else tells. InputError when nothing tells and several units are plausible.
    """
    claims = [(who, unit, FACTORS[unit]) for who, unit in stated]
    header = header_unit(raw)
    if header:
        claims.append(("the header of the drawing", *header))
    if source.options.units:
        if source.options.units not in FACTORS:
            raise InputError(
                f'"{source.options.units}" is no unit that is known',
                path=source.path,
                remedy="give mm, cm or in",
            )
        claims.insert(0, ("you", source.options.units, FACTORS[source.options.units]))
    if not claims:
        return _plausible_units(source, sizes())
    who, unit, factor = claims[0]
    notes = []
    for other, name, other_factor in claims[1:]:
        if other_factor != factor:
            ratio = max(factor, other_factor) / min(factor, other_factor)
            notes.append(_contradiction(who, unit, other, name, ratio))
    return Units(unit, factor, tuple(notes))


def _contradiction(who: str, unit: str, other: str, name: str, ratio: float) -> Note:
    message = (
        f"The units contradict each other: {who} says {NAMES[unit]}, {other} says {NAMES[name]}, a factor "
        f"of {ratio:g}; {NAMES[unit]} are taken. If that is wrong, say so with --units."
    ).replace("you says", "you say")
    return Note("units-contradictory", message)


def _plausible_units(source: Source, sizes: Sequence[float]) -> Units:
    fitting = [name for name, factor in FACTORS.items() if sizes and plausible(sizes, factor)]
    if len(fitting) != 1:
        measures = f"; its largest piece is {max(sizes):g} units long" if sizes else ""
        fit = f", and {', '.join(NAMES[name] for name in fitting)} all would fit" if fitting else ""
        raise InputError(
            f"the file does not say what unit it is in{measures}{fit}",
            path=source.path,
            remedy="say which with --units mm, --units cm or --units in",
        )
    unit = fitting[0]
    message = phrase(
        "The file does not say what unit it is in; only {unit} give pieces of a plausible size "
        "(the largest is then {largest}). If that is wrong, say so with --units.",
        unit=NAMES[unit],
        largest=PlainLength(max(sizes) * FACTORS[unit], 0),
    )
    return Units(unit, FACTORS[unit], (Note("units-assumed", message),))


def refuse_far(source: Source, what: Curve | complex, place: Place) -> None:
    """Raise InputError for a curve or point in mm that is so far off that nothing can be measured there."""
    # The control points of a curve hold it between them.
    distance = float(np.abs(what.segments).max()) if isinstance(what, Curve) else abs(what)
    if not distance <= LARGEST_COORDINATE:
        raise InputError(
            f"a point lies {distance:.3g} mm away, beyond anything that can be measured",
            path=source.path,
            place=place,
            remedy="delete or move that element, or check the units",
        )
