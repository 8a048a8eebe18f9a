"""One block of the apparel DXF interchange: a piece in one size, as the file has it, in mm.

Layers are numbers written as text (ASTM D6673, table of layers; 12 is the cutter instruction of the older AAMA
table), or names in a dialect of plotting bureaus. Points on layers 2 and 3 say which vertices of the lines are
corners and which lie on curves; texts `# n` beside them name grade rules.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from seamcheck.pattern.drawing import Role
from seamcheck.pattern.words import role_by_words, role_in
from seamcheck.reading.dxf.apparel_lines import DraftLine, LineKind, chained, draft_line, turn_at
from seamcheck.reading.dxf.curves import LINE_KINDS, NotDrawableError, axes, curve_of
from seamcheck.reading.dxf.curves import vertices as vertices_of
from seamcheck.reading.dxf.records import Entity, RawBlock
from seamcheck.reading.dxf.text import statement

BOUNDARY, TURN, CURVE, NOTCH, GRADE, MIRROR, GRAIN, INTERNAL = 1, 2, 3, 4, 5, 6, 7, 8
CUTOUT, DRILL, SEW, ANNOTATION = 11, 13, 14, 15
NOTCHES = frozenset((NOTCH, 80, 81, 82, 83))
VALIDATION = {84: BOUNDARY, 85: INTERNAL, 86: CUTOUT, 87: SEW}
MARKED_LINES = frozenset((BOUNDARY, INTERNAL, CUTOUT, SEW))
_LINE_ROLES = {
    **dict.fromkeys(NOTCHES, Role.NOTCH),
    BOUNDARY: Role.OUTLINE,
    GRADE: Role.GRADE,
    MIRROR: Role.FOLD,
    GRAIN: Role.GRAIN,
    INTERNAL: Role.INTERNAL,
    9: Role.FURNITURE,  # stripe and plaid reference lines
    10: Role.FURNITURE,
    CUTOUT: Role.CUTOUT,
    12: Role.FURNITURE,
    DRILL: Role.DRILL,
    SEW: Role.SEW,
    ANNOTATION: Role.LABEL,
    19: Role.LABEL,
    26: Role.GRADE,
}
_NAMED_LAYERS = {
    "cut": BOUNDARY,
    "outline": BOUNDARY,
    "draw": INTERNAL,
    "ink": INTERNAL,
    "intcut": CUTOUT,
    "drill": DRILL,
    "notch": NOTCH,
    "text": 19,
    "ref": 26,
}
_NUMBERED_LAYER = re.compile(r"(?:layer|lay|l)?[\s_-]*0*+(\d{0,3})")
_SHOP_LAYERS = {
    Role.OUTLINE: BOUNDARY,
    Role.CUT: BOUNDARY,
    Role.CORNER: TURN,
    Role.NOTCH: NOTCH,
    Role.GRADE: GRADE,
    Role.FOLD: MIRROR,
    Role.GRAIN: GRAIN,
    Role.INTERNAL: INTERNAL,
    Role.CUTOUT: CUTOUT,
    Role.DRILL: DRILL,
    Role.SEW: SEW,
    Role.LABEL: ANNOTATION,
}


def layer_number(name: str) -> int | None:
    """The number of a layer, however it is written: "1", "01", "LAYER_1", "L1", "CUT". None for any other name."""
    plain = name.strip().casefold()
    numbered = _NUMBERED_LAYER.fullmatch(plain)
    if numbered:
        number = int(numbered[1] or 0)
        return number if number in _LINE_ROLES or number in (TURN, CURVE) or number in VALIDATION else None
    return _NAMED_LAYERS.get(plain)


def line_role(layer: int | None) -> Role | None:
    """What a line on a numbered layer is for."""
    return None if layer is None else _LINE_ROLES.get(layer)


@dataclass(slots=True)
class DraftPoint:
    """A point of a piece, in mm; `vertex` is the line and the vertex it lies on, by number."""

    entity: Entity
    layer: int | None
    at: complex
    vertex: tuple[int, int] | None = None
    rule: str | None = None


@dataclass(slots=True)
class BlockDraft:
    """A block as it stands. `factor` is mm per file unit; `labels` are what its texts state, by plain key."""

    block: RawBlock
    factor: float
    piece: str = ""
    size: str = ""
    labels: dict[str, str] = field(default_factory=dict)
    lines: list[DraftLine] = field(default_factory=list)
    points: list[DraftPoint] = field(default_factory=list)
    texts: list[tuple[Entity, complex, str]] = field(default_factory=list)
    used: int = 0
    aside: Counter[str] = field(default_factory=Counter)
    left_out: set[tuple[str, str]] = field(default_factory=set)  # kinds and layers of what is aside
    faults: Counter[str] = field(default_factory=Counter)
    unknown_layers: set[str] = field(default_factory=set)
    in_parts: bool = False

    @property
    def boundary(self) -> DraftLine | None:
        """The outline: the largest closed line of layer 1, else the longest."""
        lines = [line for line in self.lines if line.layer == BOUNDARY and len(line.points) > 2]
        return max(lines, key=lambda line: (line.closed, round(abs(line.area()), 6)), default=None)

    @property
    def has_marks(self) -> bool:
        """Whether the block itself says which vertices are corners."""
        return any(line.marked for line in self.lines)

    @property
    def has_rules(self) -> bool:
        """Whether the block names grade rules."""
        return any(any(line.rules) for line in self.lines)


# What the texts of a piece state (ASTM D6673, system text), with the spellings that are seen.
PIECE_KEYS = {
    "piece name": "name",
    "size name": "size",
    "size": "size",
    "sample size": "size",
    "quantity": "quantity",
    "material": "material",
    "annotation": "annotation",
    "category": "category",
    "rotation": "rotation",
    "flip": "flip",
    "tilt": "tilt",
    "fold": "tubular fold",
}
RULE_TEXT = re.compile(r"\s*#\s*([^\s,]+)\s*(?:,\s*(\S+)\s*)?")
TEXT_KINDS = frozenset(("TEXT", "MTEXT", "ATTRIB", "ATTDEF"))


Key = complex  # a place in ten-thousandths of the file's unit


class _Reader:
    """Reads one block."""

    def __init__(self, block: RawBlock, factor: float, layers: Mapping[str, Sequence[str]]) -> None:
        self.draft = BlockDraft(block, factor)
        self.factor = factor
        self.layers = layers
        self.numbers: dict[str, int | None] = {}
        # By place: what is marked or ruled there, with the number of the line it was written after.
        self.kinds: dict[Key, list[tuple[LineKind, int | None]]] = {}
        self.rules: dict[Key, list[tuple[str, int | None]]] = {}
        self.not_mirrored: set[Key] = set()
        self.places: list[list[Key]] = []  # of each line, where its vertices are
        self.current: int | None = None

    def read(self) -> BlockDraft:
        for entity in self.draft.block.entities:
            self._entity(entity)
        draft = self.draft
        for index, line in enumerate(draft.lines):
            self._mark(index, line)
        self._join_boundary()
        vertices = self._vertices() if draft.points else {}
        for point in draft.points:
            key = self._key(point.at)
            point.rule = next((rule for rule, _ in self.rules.get(key, ())), None)
            point.vertex = vertices.get(key)
        return draft

    def _key(self, at: complex) -> Key:
        """A place by its coordinates as the file writes them: to four decimals of its own unit."""
        # As with `steady` the last bits are taken off first, so that they tip no half.
        x, y = (round(round(part / self.factor * 1e9) / 1e9 * 1e4) for part in (at.real, at.imag))
        return complex(x, y)

    def _keys(self, points: Sequence[complex]) -> list[Key]:
        """The same of many places."""
        at = np.asarray(points, dtype=complex)
        parts = np.rint(np.rint(at.view(np.float64) / self.factor * 1e9) / 1e9 * 1e4)
        places: list[Key] = (parts + 0.0).view(np.complex128).tolist()
        return places

    def _number(self, layer: str) -> int | None:
        if layer not in self.numbers:
            role = role_by_words((layer,), (), self.layers).role if self.layers else None
            by_shop = _SHOP_LAYERS.get(role) if role and self._named_by_shop(layer) else None
            self.numbers[layer] = by_shop if by_shop is not None else layer_number(layer)
            if self.numbers[layer] is None and role_in(layer) is not Role.OLD:
                self.draft.unknown_layers.add(layer)
        return self.numbers[layer]

    def _named_by_shop(self, layer: str) -> bool:
        return "settings" in role_by_words((layer,), (), self.layers).why

    def _entity(self, entity: Entity) -> None:
        draft = self.draft
        if entity.kind in TEXT_KINDS:
            self._text(entity)
        elif entity.kind == "POINT":
            self._point(entity)
        elif entity.kind in LINE_KINDS:
            try:
                self._line(entity)
            except NotDrawableError as error:
                self._put_aside(entity)
                draft.faults[f"{entity.kind} on layer {entity.layer} that {error}"] += 1
        else:
            self._put_aside(entity)
            for part in entity.parts:
                self._put_aside(part)

    def _put_aside(self, entity: Entity) -> None:
        self.draft.aside[f"{entity.kind} on layer {entity.layer}"] += 1
        self.draft.left_out.add((entity.kind, entity.layer))

    def _line(self, entity: Entity) -> None:
        layer = self._number(entity.layer)
        if layer in (TURN, CURVE):
            self._put_aside(entity)  # these layers hold points; a line there has no meaning
            return
        if entity.kind in ("LINE", "POLYLINE", "LWPOLYLINE"):
            line = draft_line(entity, layer, vertices_of(entity), self.factor)
            if len(line.points) < 2:
                raise NotDrawableError("have no length")
            axis = axes(entity)
            if axis.mirrors:
                line.points = [axis.apply(point) for point in line.points]
                line.bulges = [-bulge for bulge in line.bulges]
        else:
            curve = curve_of(entity, self.factor).transformed(axes(entity))
            line = DraftLine(entity, layer, [curve.start, curve.end], [0.0, 0.0], curve.is_closed, exact=curve)
        if layer in MARKED_LINES or layer in VALIDATION or layer in (GRADE, MIRROR, GRAIN):
            self.current = len(self.draft.lines)
        self.draft.lines.append(line)
        self.places.append(self._keys(line.points))
        self.draft.used += 1

    def _point(self, entity: Entity) -> None:
        layer = self._number(entity.layer)
        at = entity.point() * self.factor
        self.draft.used += 1
        if layer in (TURN, CURVE, BOUNDARY):
            # Some writers mark the vertex under a notch on the boundary's own layer: it is no corner.
            kind, key = LineKind.CURVE if layer == BOUNDARY else LineKind(layer), self._key(at)
            self.kinds.setdefault(key, []).append((kind, self._owner(key)))
        else:
            self.draft.points.append(DraftPoint(entity, layer, at))

    def _owner(self, key: Key) -> int | None:
        """The line a mark was written after, if its place is that of a vertex of it."""
        if self.current is None:
            return None
        return self.current if key in self.places[self.current] else None

    def _text(self, entity: Entity) -> None:
        draft = self.draft
        at = axes(entity).apply(entity.point()) * self.factor
        written = [line for line in entity.writing() if line]
        if not written:
            self._put_aside(entity)
            return
        draft.used += 1
        for text in written:
            rule = RULE_TEXT.fullmatch(text)
            if rule:
                self.rules.setdefault(self._key(at), []).append((rule[1], self.current))
            elif text.strip().upper() == "NM":
                self.not_mirrored.add(self._key(at))
            else:
                said, value = statement(text)
                key = PIECE_KEYS.get(said)
                if key and value:
                    draft.labels.setdefault(key, value)
                draft.texts.append((entity, at, text))

    def _mark(self, index: int, line: DraftLine) -> None:
        """Give each vertex of a line the mark and the rule that stand on it."""
        if line.exact is not None:
            return
        places = self.places[index]
        line.kinds = [
            self._kind_at(index, line, number) if place in self.kinds else None for number, place in enumerate(places)
        ]
        line.rules = [self._rule_at(index, place) if place in self.rules else None for place in places]
        line.not_mirrored = places[0] in self.not_mirrored

    def _rule_at(self, index: int, place: Key) -> str:
        rules = self.rules[place]
        return next((rule for rule, owner in rules if owner == index), rules[0][0])

    def _kind_at(self, index: int, line: DraftLine, number: int) -> LineKind | None:
        marks = self.kinds[self.places[index][number]]
        if line.layer not in MARKED_LINES or not marks:
            return None
        kinds = {kind for kind, owner in marks if owner == index} or {kind for kind, _ in marks}
        if len(kinds) == 1:
            return kinds.pop()
        # Marked as both: only its own angle can tell.
        inner = line.closed or 0 < number < len(line.points) - 1
        return LineKind.CURVE if inner and abs(turn_at(line.points, number)) < 25.0 else LineKind.TURN

    def _join_boundary(self) -> None:
        """Make one outline of several lines on layer 1 that meet end to end."""
        draft = self.draft
        parts = [line for line in draft.lines if line.layer == BOUNDARY and line.exact is None]
        if len(parts) < 2 or any(line.closed for line in parts):
            return
        whole = chained(parts)
        if whole is not None:
            draft.lines = [whole, *(line for line in draft.lines if all(line is not part for part in parts))]
            draft.in_parts = True

    def _vertices(self) -> dict[Key, tuple[int, int]]:
        """Which line and vertex lie at each place, by number; the outline goes first."""
        found: dict[Key, tuple[int, int]] = {}
        for wanted in (BOUNDARY, SEW, CUTOUT, INTERNAL):
            for index, line in enumerate(self.draft.lines):
                if line.layer == wanted:
                    for number, place in enumerate(self._keys(line.points)):
                        found.setdefault(place, (index, number))
        return found


def read_block(block: RawBlock, factor: float, layers: Mapping[str, Sequence[str]]) -> BlockDraft:
    """Read one block; `factor` is mm per file unit, `layers` the shop's own."""
    return _Reader(block, factor, layers).read()
