"""What a DXF file holds, as it is written: pairs of group code and value, and the entities, blocks and layers made of them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import zip_longest
from typing import NamedTuple, overload

import numpy as np
import numpy.typing as npt

from seamcheck.pattern.drawing import Note, Place
from seamcheck.reading.dxf.text import plain, plain_lines

_BY_POINTS = ("LWPOLYLINE", "SPLINE", "LEADER")

Reals = npt.NDArray[np.float64]


@dataclass(slots=True)
class Pairs:
    """All pairs of a file as columns; one pair takes `lines` lines of it.

    `numbers` are the values of geometry as numbers, not a number elsewhere. Where most of a file is drawn, its values of geometry are
    kept as numbers alone, and empty as texts.
    """

    codes: list[int]
    values: list[str]
    numbers: Reals
    lines: int = 2

    def line(self, index: int) -> int:
        """The line of a pair's group code, counted from 1."""
        return index * self.lines + 1


@dataclass(slots=True)
class Entity:
    """One entity with all its pairs; `parts` are the vertices of a polyline or the attributes of an insert.

    Its pairs are those of the file from `first` up to `last`; the one before them names its kind.
    """

    kind: str
    pairs: Pairs
    first: int
    last: int
    parts: Alike | list[Entity] | tuple[()] = ()

    @property
    def line(self) -> int:
        """The line that it begins on."""
        return self.pairs.line(self.first - 1)

    @property
    def codes(self) -> list[int]:
        """The group codes of its pairs."""
        return self.pairs.codes[self.first : self.last]

    @property
    def tags(self) -> Iterator[tuple[int, str]]:
        """Its pairs, in order."""
        return zip(self.codes, self.pairs.values[self.first : self.last], strict=True)

    @property
    def place(self) -> Place:
        """Where it stands in the file."""
        return Place(f"line {self.line}", self.line)

    @property
    def layer(self) -> str:
        """The name of its layer; "0" where it gives none."""
        return plain(self.text(8, "0"))

    # These are called for every vertex of a file: a list finds a number faster than any loop.

    def has(self, code: int) -> bool:
        """Whether a pair with that group code is there."""
        return code in self.codes

    def text(self, code: int, default: str = "") -> str:
        """The first value of a group code, as it stands."""
        try:
            return self.pairs.values[self.pairs.codes.index(code, self.first, self.last)]
        except ValueError:
            return default

    def number(self, code: int, default: float = 0.0) -> float:
        """The first value of a group code as a number."""
        try:
            at = self.pairs.codes.index(code, self.first, self.last)
        except ValueError:
            return default
        number = float(self.pairs.numbers[at])
        return float(self.pairs.values[at]) if number != number else number

    def numbers(self, code: int) -> list[float]:
        """All values of a group code of geometry as numbers."""
        return [number for its_code, number in self.figures if its_code == code]

    def vertex_count(self) -> int:
        """How many vertices it is drawn by: those of a polyline, or the points of a spline or a leader."""
        if self.kind == "POLYLINE":
            return len(self.parts)
        return max(self.codes.count(10), self.codes.count(11)) if self.kind in _BY_POINTS else 0

    @property
    def figures(self) -> Iterator[tuple[int, float]]:
        """Its pairs with the values of geometry as numbers, not a number elsewhere, in order."""
        return zip(self.codes, self.pairs.numbers[self.first : self.last].tolist(), strict=True)

    def integer(self, code: int, default: int = 0) -> int:
        """The first value of a group code as a whole number; some writers put it as 1.000000."""
        return _whole(self.text(code), default)

    def point(self, code: int = 10) -> complex:
        """The point whose x stands under `code` and whose y under `code + 10`, in file units."""
        return complex(self.number(code), self.number(code + 10))

    def points(self, code: int = 10) -> list[complex]:
        """All such points, in order."""
        return [complex(x, y) for x, y in zip_longest(self.numbers(code), self.numbers(code + 10), fillvalue=0.0)]

    def writing(self) -> list[str]:
        """The lines that a text, a paragraph or an attribute says; may be one empty line."""
        if self.kind == "MTEXT":
            return plain_lines("".join(value for code, value in self.tags if code in (1, 3)))
        return [plain(self.text(1))]


def _whole(text: str, default: int) -> int:
    """A text as a whole number; some writers put it as 1.000000."""
    try:
        return int(float(text)) if text else default
    except (ValueError, OverflowError):
        return default


@dataclass(slots=True)
class Alike(Sequence[Entity]):
    """Entities of one kind that stand behind each other and have the same group codes, as the vertices of a polyline do.

    The first begins at the pair `start`, each has `size` pairs; an entity is made of one when it is asked for.
    """

    kind: str
    pairs: Pairs
    start: int
    size: int
    times: int

    def __len__(self) -> int:
        """How many there are."""
        return self.times

    @overload
    def __getitem__(self, number: int) -> Entity: ...
    @overload
    def __getitem__(self, number: slice) -> list[Entity]: ...
    def __getitem__(self, number: int | slice) -> Entity | list[Entity]:
        """One of them, or several."""
        if isinstance(number, slice):
            return [self[k] for k in range(*number.indices(self.times))]
        if not -self.times <= number < self.times:
            raise IndexError(number)
        start = self.start + self.size * (number % self.times)
        return Entity(self.kind, self.pairs, start + 1, start + self.size)

    @property
    def codes(self) -> list[int]:
        """The group codes of each."""
        return self.pairs.codes[self.start + 1 : self.start + self.size]

    def numbers(self, code: int) -> list[float]:
        """The first value of a group code of geometry in each of them, 0 where they have none."""
        if code not in self.codes:
            return [0.0] * self.times
        found: list[float] = self.pairs.numbers[self._column(code)].tolist()
        return found

    def integers(self, code: int) -> list[int]:
        """The first value of a group code in each of them as a whole number, 0 where they have none."""
        if code not in self.codes:
            return [0] * self.times
        return [_whole(text, 0) for text in self.pairs.values[self._column(code)]]

    def _column(self, code: int) -> slice:
        first = self.start + 1 + self.codes.index(code)
        return slice(first, self.start + self.size * self.times, self.size)


@dataclass(slots=True)
class RawBlock:
    """A block as it stands in the file. `name` is unique: of equal names the later ones end in ~2, ~3 ..."""

    name: str
    record: Entity
    entities: list[Entity] = field(default_factory=list)

    @property
    def place(self) -> Place:
        """Where it begins in the file."""
        return self.record.place

    @property
    def base(self) -> complex:
        """The base point in file units."""
        return self.record.point()


class Layer(NamedTuple):
    """A row of the layer table."""

    name: str
    hidden: bool
    line_type: str


@dataclass(slots=True)
class RawDrawing:
    """A whole file. `header` maps the variables to their first values; block names and layers are looked up case-folded."""

    path: str
    encoding: str
    header: dict[str, str] = field(default_factory=dict)
    layers: dict[str, Layer] = field(default_factory=dict)
    blocks: dict[str, RawBlock] = field(default_factory=dict)
    entities: list[Entity] = field(default_factory=list)
    notes: list[Note] = field(default_factory=list)
    sections: Counter[str] = field(default_factory=Counter)

    def variable(self, name: str) -> str:
        """The value of a header variable; empty where the file has none."""
        return self.header.get(name, "")

    def block(self, name: str) -> RawBlock | None:
        """The block an insert of that name draws; the first, where the file has several of one name."""
        return self.blocks.get(name.casefold())

    def all_entities(self) -> Iterator[Entity]:
        """Every entity of the blocks and of the drawing itself, in that order; attributes after their insert."""
        for block in self.blocks.values():
            yield from _with_attributes(block.entities)
        yield from _with_attributes(self.entities)


def _with_attributes(entities: Sequence[Entity]) -> Iterator[Entity]:
    for entity in entities:
        yield entity
        if entity.kind == "INSERT":
            yield from entity.parts
