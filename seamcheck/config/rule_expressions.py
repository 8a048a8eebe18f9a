"""What a rule of a shop is made of, once it is read: amounts, places in the pattern, functions and sums of them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from enum import Enum


class ValueKind(Enum):
    """What an expression measures."""

    LENGTH = "a length"
    ANGLE = "an angle"
    NUMBER = "a plain number"


UNITS: Mapping[str, tuple[ValueKind, float]] = {
    "mm": (ValueKind.LENGTH, 1.0),
    "cm": (ValueKind.LENGTH, 10.0),
    "in": (ValueKind.LENGTH, 25.4),
    "degrees": (ValueKind.ANGLE, 1.0),
    "%": (ValueKind.NUMBER, 0.01),
}


@dataclass(frozen=True, slots=True)
class Amount:
    """A number as it stands in the rule, in mm or degrees where it has a unit."""

    value: float
    kind: ValueKind
    unit: str | None = None


@dataclass(frozen=True, slots=True)
class NamedPart:
    """Something in the pattern that is measured: an edge or corner of a piece, a piece, or a seam."""

    of: str  # "edge", "corner", "piece" or "seam"
    names: tuple[str, ...]
    at_hand: str = ""  # "seam", "piece" or "edge" where a rule for each of them means the one it is held against; its name is "" then

    def __str__(self) -> str:
        """The name as it is written."""
        return ".".join(self.names)

    def filled(self, names: tuple[str, ...]) -> NamedPart:
        """The same with the names of the one at hand."""
        if not self.at_hand:
            return self
        return NamedPart(self.of, names if self.at_hand != "piece" else (*names, *self.names[1:]))


@dataclass(frozen=True, slots=True)
class Call:
    """A function of the language, applied to places or to expressions."""

    function: str
    places: tuple[NamedPart, ...]
    arguments: tuple[Expression, ...]
    kind: ValueKind


@dataclass(frozen=True, slots=True)
class Binary:
    """Two expressions and the sign between them."""

    sign: str
    left: Expression
    right: Expression
    kind: ValueKind


@dataclass(frozen=True, slots=True)
class Negated:
    """An expression with a minus before it."""

    inner: Expression
    kind: ValueKind


Expression = Amount | Call | Binary | Negated


@dataclass(frozen=True, slots=True)
class Relation:
    """A whole rule: `left` compared with `right`, or with the range from `right` to `upto`; the texts as written."""

    text: str
    sign: str  # "=", "<=", ">=" or "between"
    left: Expression
    left_text: str
    right: Expression
    right_text: str
    upto: Expression | None = None
    upto_text: str = ""

    @property
    def kind(self) -> ValueKind:
        """What is compared."""
        for part in (self.left, self.right, self.upto):
            if part is not None and not is_nought(part):
                return part.kind
        return self.left.kind

    @property
    def places(self) -> tuple[NamedPart, ...]:
        """Every place that it speaks of, each once, in the order in which they are written."""
        parts = (self.left, self.right, *(() if self.upto is None else (self.upto,)))
        return tuple(dict.fromkeys(place for part in parts for place in places(part)))

    def filled(self, names: tuple[str, ...]) -> Relation:
        """The same about the one of these names, where it speaks of the one at hand; the texts stay as they are."""
        upto = None if self.upto is None else filled(self.upto, names)
        return replace(self, left=filled(self.left, names), right=filled(self.right, names), upto=upto)


def is_nought(expression: Expression) -> bool:
    """Whether it is a plain 0, which is no length, no angle and nothing in number alike."""
    return isinstance(expression, Amount) and expression.value == 0 and expression.unit is None


def places(expression: Expression) -> Iterator[NamedPart]:
    """Every place that an expression measures, in the order in which it is written."""
    if isinstance(expression, Call):
        yield from expression.places
        for argument in expression.arguments:
            yield from places(argument)
    elif isinstance(expression, Binary):
        yield from places(expression.left)
        yield from places(expression.right)
    elif isinstance(expression, Negated):
        yield from places(expression.inner)


def filled(expression: Expression, names: tuple[str, ...]) -> Expression:
    """The expression about the one of these names, where it speaks of the one at hand."""
    if isinstance(expression, Call):
        return replace(
            expression,
            places=tuple(place.filled(names) for place in expression.places),
            arguments=tuple(filled(one, names) for one in expression.arguments),
        )
    if isinstance(expression, Binary):
        return replace(expression, left=filled(expression.left, names), right=filled(expression.right, names))
    if isinstance(expression, Negated):
        return replace(expression, inner=filled(expression.inner, names))
    return expression
