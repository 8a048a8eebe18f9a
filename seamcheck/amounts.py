"""Amounts, names and phrases, and how they are said to a person: millimetres and inches; degrees.

One rule of rounding, in every sentence, table and drawing of a report: an amount is told as finely as a hand can follow it.
Millimetres are whole from 100 mm on, have one decimal below that and two below 1 mm. Inches are to the nearest 1/16, below
1/8 in to the nearest 1/32; what is less than half of that is "under 1/32 in", so that no two amounts that a tolerance tells
apart are told alike.

fact     an amount, a count or a name; or a phrase or a list that holds such
phrase   words with facts in them, which stay facts until a report writes the words
reason   why something could not be judged: a code and a phrase
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import gcd
from string import Formatter

from seamcheck.exact import EXACT, steady


class Unit(StrEnum):
    """What a check measures in."""

    LENGTH = "mm"
    ANGLE = "degrees"


class Length(float):
    """A length in mm, said to a person as mm and inches."""


class PlainLength(Length):
    """A length that is said in millimetres alone: to so many decimals, or as `millimetres` says it."""

    decimals: int | None

    def __new__(cls, mm: float, decimals: int | None = 0) -> PlainLength:
        """A length in mm, and how finely it is said."""
        length = super().__new__(cls, mm)
        length.decimals = decimals
        return length


class Angle(float):
    """An angle in degrees, said to one decimal."""


class PlainAngle(Angle):
    """An angle in degrees that is said in whole degrees."""


class Share(float):
    """A share of a whole, said in whole per cent."""

    def __str__(self) -> str:
        """The share, as "46 %"."""
        return f"{100 * self:.0f} %"


class Number(float):
    """A number without a unit, said to three decimals at most."""

    def __str__(self) -> str:
        """The number, as "1.25"."""
        return f"{self:.3f}".rstrip("0").rstrip(".")


class Point(complex):
    """A place in the drawing in mm, in the file's axes, said to one decimal."""

    def __str__(self) -> str:
        """The place, as "(120.0, 35.5)"."""
        return f"({self.real:.1f}, {self.imag:.1f})"


class PlanPoint(Point):
    """A place in the drawing as a plan writes it."""

    def __str__(self) -> str:
        """The place, as "[120.0, 35.5]"."""
        return f"[{self.real:.1f}, {self.imag:.1f}]"


class Name(str):
    """A name that the file or the plan gives to a piece, an edge, a corner, a seam or a size."""

    __slots__ = ()


@dataclass(frozen=True, slots=True)
class Phrase:
    """Words with facts in them: `template` speaks of each by its name in braces.

    `str()` says it with every length in both units. ValueError, when it is said, for a fact that is not given.
    """

    template: str
    facts: tuple[tuple[str, Fact], ...] = ()

    def __str__(self) -> str:
        """The words, with amounts as a person is told them."""
        return "".join(map(fact, spoken(self)))


@dataclass(frozen=True, slots=True)
class Listed:
    """Facts as a person lists them: "a", "a and b", "a, b and c"; `between` stands between two, `last` before the last."""

    items: tuple[Fact, ...]
    between: str = ", "
    last: str = " and "

    def __str__(self) -> str:
        """The list, with amounts as a person is told them."""
        return "".join(map(fact, spoken(self)))


Fact = Length | Angle | Share | Number | Point | Name | Phrase | Listed | str | int
Spoken = Length | Angle | Name | str  # what a phrase comes to: words, and the amounts and names between them


@dataclass(frozen=True, slots=True)
class Reason:
    """Why something could not be judged: a stable code, and the words."""

    code: str
    words: Phrase

    def __str__(self) -> str:
        """The words."""
        return str(self.words)


# Sheets in mm (ISO 216 and the North American sizes) that drawings are set up on.
SHEETS = {
    "A0": (841.0, 1189.0),
    "A1": (594.0, 841.0),
    "A2": (420.0, 594.0),
    "A3": (297.0, 420.0),
    "A4": (210.0, 297.0),
    "A5": (148.0, 210.0),
    "Letter": (215.9, 279.4),
    "Legal": (215.9, 355.6),
    "Tabloid": (279.4, 431.8),
}


UNITS = {"mm": 1.0, "cm": 10.0, "in": 25.4}  # mm in one of each


MM_PER_INCH = 25.4


def inches(mm: float) -> str:
    """The nearest 1/16 inch, or 1/32 below 1/8 in: "1/4 in", "1 3/16 in"; "under 1/32 in" for what rounds to nothing but is not nothing."""
    size = (abs(mm) + EXACT) / MM_PER_INCH
    parts = 32 if round(size * 32) < 4 else 16
    steps = round(size * parts)
    if steps == 0:
        return "under 1/32 in" if mm else "0 in"
    whole, rest = divmod(steps, parts)
    common = gcd(rest, parts)
    told = [str(whole)] if whole else []
    if rest:
        told.append(f"{rest // common}/{parts // common}")
    return " ".join(told) + " in"


def digits(mm: float) -> str:
    """The number of millimetres: to one decimal, two below 1 mm, whole from 100 mm on; the sign is left to the sentence."""
    size = abs(mm) + EXACT
    if round(size, 1) >= 100:
        return f"{size:.0f}"
    return f"{size:.2f}" if round(size, 2) < 1 else f"{size:.1f}"


def millimetres(mm: float) -> str:
    """An amount in millimetres alone: "6.4 mm"."""
    return f"{digits(mm)} mm"


def length(mm: float) -> str:
    """An amount as both: "6.4 mm (1/4 in)". The sign is left to the sentence."""
    return f"{millimetres(mm)} ({inches(mm)})"


def angle(degrees: float) -> str:
    """An angle to one decimal: "1.9°"."""
    return f"{steady(degrees):.1f}°"


def fact(value: Fact) -> str:
    """One fact as it stands in a sentence."""
    if isinstance(value, PlainLength):
        return millimetres(value) if value.decimals is None else f"{steady(value):.{value.decimals}f} mm"
    if isinstance(value, PlainAngle):
        return f"{value:.0f}°"
    if isinstance(value, Length):
        return length(value)
    if isinstance(value, Angle):
        return angle(value)
    return str(value)


def phrase(template: str, /, **facts: Fact) -> Phrase:
    """Words with facts in them: `phrase("{short} is {amount} too short", short=Name("back"), amount=Length(6.35))`."""
    return Phrase(template, tuple(facts.items()))


def worded(words: str | Phrase) -> Phrase:
    """Words that hold no facts as a phrase; a phrase as it is."""
    return words if isinstance(words, Phrase) else Phrase("{words}", (("words", words),))


def spoken(value: Fact) -> Iterator[Spoken]:
    """A fact as words with the amounts and names between them; ValueError for a fact that a phrase does not have."""
    if isinstance(value, Phrase):
        given = dict(value.facts)
        for words, name, _, _ in Formatter().parse(value.template):
            if words:
                yield words
            if name is not None:
                if name not in given:
                    raise ValueError(f'"{value.template}" speaks of {name!r}, which is not among the facts')
                yield from spoken(given[name])
    elif isinstance(value, Listed):
        last = len(value.items) - 1
        for k, item in enumerate(value.items):
            if k:
                yield value.last if k == last else value.between
            yield from spoken(item)
    elif isinstance(value, Length | Angle | Name):
        yield value
    else:
        yield str(value)


def facts_in(template: str) -> tuple[str, ...]:
    """What stands in the braces of a template, in order: names of facts, where it is as it should be."""
    try:
        fields = [
            f"{field}{f'!{conversion}' if conversion else ''}{f':{spec}' if spec else ''}"
            for _, field, spec, conversion in Formatter().parse(template)
            if field is not None
        ]
    except ValueError:  # a brace that opens and does not close, or the other way round
        fields = [""]
    return tuple(dict.fromkeys(fields))


def listed(names: Sequence[str]) -> str:
    """Names as a person lists them: "a", "a and b", "a, b and c"."""
    if len(names) < 2:
        return "".join(names)
    return ", ".join(names[:-1]) + " and " + names[-1]


def joined(parts: Iterable[Fact], between: str = "") -> Phrase:
    """Facts one after the other, with the same words between any two."""
    facts = tuple((str(k), part) for k, part in enumerate(parts))
    gap = between.replace("{", "{{").replace("}", "}}")
    return Phrase(gap.join(f"{{{name}}}" for name, _ in facts), facts)


def opened(said: Fact) -> Phrase:
    """A sentence that begins with "the" begins with "The"; names of pieces and edges stay as they are."""
    parts = list(spoken(said))
    if parts and not isinstance(parts[0], Length | Angle | Name) and parts[0].startswith("the "):
        parts[0] = f"The{parts[0][3:]}"
    return joined(parts)


def begun(said: Fact) -> Phrase:
    """A sentence with a capital at its beginning, whatever it begins with."""
    parts = list(spoken(said))
    if parts and not isinstance(parts[0], Length | Angle):
        parts[0] = parts[0][:1].upper() + parts[0][1:]
    return joined(parts)


def count(number: int, one: str, many: str = "") -> str:
    """A number with its noun: "1 seam", "3 seams", "2 pieces"."""
    return f"{number} {one if number == 1 else many or one + 's'}"
