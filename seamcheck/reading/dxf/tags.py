"""The raw pass over a DXF file: pairs of group code and value, put together to sections, blocks and entities.

Nothing is interpreted here and nothing is dropped: every entity keeps all its pairs and the line it begins on,
so that whatever a reader does not use can be counted and named. Faults that leave no doubt about what was meant
are mended and noted; others are errors that name the line.

Structure after the DXF reference (general file structure, group codes by number).

Both kinds of DXF are read from this one pass, which the ledger needs anyway: nothing is merged or dropped in
silence, an arc under an unequal scale stays one curve, and the repairs serve both. ezdxf is imported for binary
files and for splines given by fit points alone, and is the independent check in `tests/outside`.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import partial
from itertools import zip_longest
from typing import NamedTuple

from seamcheck.errors import InputError
from seamcheck.pattern.drawing import Note, Place
from seamcheck.reading.base import Source
from seamcheck.reading.dxf.text import decode, plain, plain_lines

BINARY_SENTINEL = b"AutoCAD Binary DXF\r\n\x1a\x00"  # DXF reference, binary DXF files
LARGEST_NUMBER = 1e15  # in any unit; reckoning with larger ones loses the millimetres
LARGEST_COORDINATE = 1e7  # ten kilometres in mm: beyond it doubles no longer hold a micrometre


class Tag(NamedTuple):
    """One pair; `line` is the line of its group code, counted from 1."""

    line: int
    code: int
    value: str


@dataclass(slots=True)
class Entity:
    """One entity with all its pairs; `parts` are the vertices of a polyline or the attributes of an insert."""

    kind: str
    line: int
    tags: list[Tag]
    parts: list[Entity] = field(default_factory=list)

    @property
    def place(self) -> Place:
        """Where it stands in the file."""
        return Place(f"line {self.line}", self.line)

    @property
    def layer(self) -> str:
        """The name of its layer; "0" where it gives none."""
        return plain(self.text(8, "0"))

    def has(self, code: int) -> bool:
        """Whether a pair with that group code is there."""
        return any(tag.code == code for tag in self.tags)

    # These are called for every vertex of a file: plain loops are three times as fast as generators.

    def text(self, code: int, default: str = "") -> str:
        """The first value of a group code, as it stands."""
        for _, its_code, value in self.tags:
            if its_code == code:
                return value
        return default

    def number(self, code: int, default: float = 0.0) -> float:
        """The first value of a group code as a number."""
        for _, its_code, value in self.tags:
            if its_code == code:
                return float(value)
        return default

    def numbers(self, code: int) -> list[float]:
        """All values of a group code as numbers."""
        return [float(tag.value) for tag in self.tags if tag.code == code]

    def integer(self, code: int, default: int = 0) -> int:
        """The first value of a group code as a whole number; some writers put it as 1.000000."""
        text = self.text(code).strip()
        if not text:
            return default
        try:
            return int(float(text))
        except (ValueError, OverflowError):
            return default

    def point(self, code: int = 10) -> complex:
        """The point whose x stands under `code` and whose y under `code + 10`, in file units."""
        return complex(self.number(code), self.number(code + 10))

    def points(self, code: int = 10) -> list[complex]:
        """All such points, in order."""
        return [complex(x, y) for x, y in zip_longest(self.numbers(code), self.numbers(code + 10), fillvalue=0.0)]

    def writing(self) -> list[str]:
        """The lines that a text, a paragraph or an attribute says; may be one empty line."""
        if self.kind == "MTEXT":
            return plain_lines("".join(tag.value for tag in self.tags if tag.code in (1, 3)))
        return [plain(self.text(1))]


@dataclass(slots=True)
class RawBlock:
    """A block as it stands in the file. `name` is unique: of equal names the later ones end in ~2, ~3 ..."""

    name: str
    line: int
    tags: list[Tag]
    entities: list[Entity] = field(default_factory=list)

    @property
    def place(self) -> Place:
        """Where it begins in the file."""
        return Place(f"line {self.line}", self.line)

    @property
    def base(self) -> complex:
        """The base point in file units."""
        return Entity("BLOCK", self.line, self.tags).point()


@dataclass(frozen=True, slots=True)
class Layer:
    """A row of the layer table."""

    name: str
    hidden: bool
    line_type: str


@dataclass(slots=True)
class RawDrawing:
    """A whole file. `header` maps the variables to their pairs; block names and layers are looked up case-folded."""

    path: str
    encoding: str
    header: dict[str, list[Tag]] = field(default_factory=dict)
    layers: dict[str, Layer] = field(default_factory=dict)
    blocks: dict[str, RawBlock] = field(default_factory=dict)
    entities: list[Entity] = field(default_factory=list)
    notes: list[Note] = field(default_factory=list)
    sections: Counter[str] = field(default_factory=Counter)

    def variable(self, name: str) -> str:
        """The value of a header variable; empty where the file has none."""
        tags = self.header.get(name)
        return tags[0].value.strip() if tags else ""

    def block(self, name: str) -> RawBlock | None:
        """The block an insert of that name draws; the first, where the file has several of one name."""
        return self.blocks.get(name.casefold())

    def all_entities(self) -> Iterator[Entity]:
        """Every entity of the blocks and of the drawing itself, in that order; attributes after their insert."""
        for block in self.blocks.values():
            yield from _with_attributes(block.entities)
        yield from _with_attributes(self.entities)


def _with_attributes(entities: list[Entity]) -> Iterator[Entity]:
    for entity in entities:
        yield entity
        if entity.kind == "INSERT":
            yield from entity.parts


def is_dxf(source: Source) -> bool:
    """Whether the bytes begin like a DXF file, text or binary."""
    if source.data.startswith(BINARY_SENTINEL):
        return True
    head = source.data[:4096].removeprefix(b"\xef\xbb\xbf")
    if head.startswith((b"\xff\xfe", b"\xfe\xff")):
        head = head.replace(b"\x00", b"")[2:]
    return _START.match(head) is not None


# The first pairs are "0 SECTION", after any number of comments; blank lines are a fault to name later.
_START = re.compile(rb"(?:\s*999[ \t]*[\r\n]+[^\r\n]*)*\s*0[ \t]*[\r\n]+\s*(SECTION|EOF)\b", re.IGNORECASE)


def read_raw(source: Source) -> RawDrawing:
    """Read the pairs of a DXF file and put them together.

    InputError for what cannot be mended: a line too many or missing, a number that is none, a file that breaks off,
    no entity at all, or more of anything than `source.limits` allow.
    """
    if source.data.startswith(BINARY_SENTINEL):
        tags, raw = _binary_tags(source), RawDrawing(source.path, "binary")
    else:
        decoded = decode(source)
        raw = RawDrawing(source.path, decoded.encoding, notes=list(decoded.notes))
        tags = _text_tags(source, decoded.text, raw)
    _Assembler(source, raw).assemble(tags)
    if not raw.entities and not any(block.entities for block in raw.blocks.values()):
        raise InputError(
            "the drawing is empty: it holds no line and no text",
            path=source.path,
            remedy="save it again from the drawing program, with the pattern in it",
        )
    return raw


def _binary_tags(source: Source) -> list[Tag]:
    from ezdxf.lldxf.const import DXFError
    from ezdxf.lldxf.tagger import binary_tags_loader

    tags = []
    try:
        for index, (code, value) in enumerate(binary_tags_loader(source.data, errors="replace")):
            source.limits.check("tags", index, "pairs of group code and value", path=source.path)
            tags.append(Tag(index + 1, code, value if isinstance(value, str) else str(value)))
    except (DXFError, ValueError, IndexError) as error:
        raise InputError(
            f"the binary DXF breaks off or is damaged ({str(error).lower() or 'no end found'})",
            path=source.path,
            remedy="save it again as a text DXF",
        ) from None
    return tags


def _text_tags(source: Source, text: str, raw: RawDrawing) -> list[Tag]:
    source.limits.check("tags", text.count("\n") // 2, "pairs of group code and value", path=source.path)
    ended = text.endswith("\n")
    lines = text.rstrip().split("\n")
    tags: list[Tag] = []
    try:
        rows = zip(range(1, len(lines), 2), map(int, lines[:-1:2]), lines[1::2], strict=False)
        tags = list(map(partial(tuple.__new__, Tag), rows))  # as Tag(*row), a million times
    except ValueError:
        # Something stands where a group code belongs; it does not matter after the end mark.
        for index in range(0, len(lines) - 1, 2):
            try:
                tags.append(Tag(index + 1, int(lines[index]), lines[index + 1]))
            except ValueError:
                raise _misplaced_line(source, lines, index) from None
            if _is_end(tags[-1]):
                break
    end = next((index for index, (_, code, value) in enumerate(tags) if code == 0 and value.strip() == "EOF"), None)
    if end is None:
        if len(lines) % 2 or not ended:
            raise _breaks_off(source, len(lines))
        return tags
    if 2 * end + 2 < len(lines):
        raw.notes.append(Note("repaired", "What stands after the end mark of the file is not read."))
    return tags[: end + 1]


def _is_end(tag: Tag) -> bool:
    return tag.code == 0 and tag.value.strip() == "EOF"


def _misplaced_line(source: Source, lines: list[str], index: int) -> InputError:
    before = ", ".join(f'"{line.strip()}"' for line in lines[max(index - 3, 0) : index])
    return InputError(
        f'"{lines[index].strip()[:60]}" stands where a group code, a whole number, belongs'
        + (f" (the lines above it are {before})" if before else ""),
        path=source.path,
        place=Place(f"line {index + 1}", index + 1),
        remedy="a line is missing or too many there; take the blank line out, or save the file again",
    )


def _breaks_off(source: Source, line: int) -> InputError:
    return InputError(
        "the file breaks off in the middle of the drawing",
        path=source.path,
        place=Place(f"line {line}", line),
        remedy="it was not saved or copied whole: save or copy it again",
    )


_ENTITY_SECTIONS = ("BLOCKS", "ENTITIES")
# Group codes of numbers that are geometry: coordinates and lengths, angles, extrusion directions.
_GEOMETRY_CODES = frozenset((*range(10, 60), *range(210, 240)))
_COMMA_NUMBER = re.compile(r"\s*[-+]?\d*,\d+([eE][-+]?\d+)?\s*")


class _Assembler:
    """Puts the pairs of one file together."""

    def __init__(self, source: Source, raw: RawDrawing) -> None:
        self.source = source
        self.raw = raw
        self.section = ""
        self.block: RawBlock | None = None
        self.owner: Entity | None = None  # the polyline or insert whose parts are being read
        self.entity_count = 0
        self.vertex_count = 0
        self.repairs: Counter[str] = Counter()
        self.names: Counter[str] = Counter()
        self.colliding: set[str] = set()

    def assemble(self, tags: list[Tag]) -> None:
        """Fill the raw drawing with the records of all tags."""
        tags = self._without_decimal_commas(tags)
        starts = [index for index, (_, code, _) in enumerate(tags) if code == 0]
        ended = False
        for start, end in zip(starts, [*starts[1:], len(tags)], strict=True):
            kind = tags[start].value.strip().upper()
            if kind == "EOF":
                ended = True
                break
            self._record(kind, tags[start].line, tags[start + 1 : end])
        if not ended:
            # Between two whole entities only the closing marks can be missing; elsewhere content is.
            if self.block or self.section not in ("", "ENTITIES") or (self.owner and self._owner_is_open()):
                raise _breaks_off(self.source, tags[-1].line + 1 if tags else 1)
            self.repairs["end mark of the file (EOF)"] += 1
        if self.section:
            self.repairs["end of a section (ENDSEC)"] += 1
        self._note_repairs()

    def _owner_is_open(self) -> bool:
        return self.owner is not None and self.owner.kind == "POLYLINE"

    def _record(self, kind: str, line: int, tags: list[Tag]) -> None:
        if kind == "SECTION":
            self._begin_section(tags)
        elif kind == "ENDSEC":
            self._close_block()
            self.section = ""
        elif self.section == "TABLES" and kind == "LAYER":
            self._layer(Entity(kind, line, tags))
        elif self.section == "BLOCKS" and kind == "BLOCK":
            self._begin_block(line, tags)
        elif kind == "ENDBLK":
            self._close_owner()
            self.block = None
        elif self.section in _ENTITY_SECTIONS:
            self._entity(Entity(kind, line, tags))

    def _begin_section(self, tags: list[Tag]) -> None:
        self._close_block()
        if self.section:
            self.repairs["end of a section (ENDSEC)"] += 1
        self.section = next((tag.value.strip().upper() for tag in tags if tag.code == 2), "?")
        self.raw.sections[self.section] += 1
        if self.section == "HEADER":
            name = ""
            for tag in tags:
                if tag.code == 9:
                    name = tag.value.strip().upper()
                    self.raw.header[name] = []
                elif name:
                    self.raw.header[name].append(tag)

    def _layer(self, row: Entity) -> None:
        name = plain(row.text(2))
        frozen, off = bool(row.integer(70) & 1), row.integer(62, 7) < 0
        self.raw.layers[name.casefold()] = Layer(name, frozen or off, row.text(6).strip().upper())

    def _close_owner(self) -> None:
        if self._owner_is_open():
            self.repairs["end of a polyline (SEQEND)"] += 1
        self.owner = None

    def _close_block(self) -> None:
        self._close_owner()
        if self.block is not None:
            self.repairs["end of a block (ENDBLK)"] += 1
            self.block = None

    def _begin_block(self, line: int, tags: list[Tag]) -> RawBlock:
        self._close_block()
        given = plain(Entity("BLOCK", line, tags).text(2))
        key = given.casefold()
        self.names[key] += 1
        name = given
        if self.names[key] > 1 or not given:
            number = self.names[key]
            while not name or name.casefold() in self.raw.blocks:
                name = f"{given or 'block'}~{number}"
                number += 1
            if given:
                self.colliding.add(given)
            else:
                message = f'The block at line {line} has no name; it is called "{name}".'
                self.raw.notes.append(Note("block-unnamed", message))
        self.block = RawBlock(name, line, tags)
        self.raw.blocks[name.casefold()] = self.block
        return self.block

    def _entity(self, entity: Entity) -> None:
        if entity.kind == "SEQEND":
            self.owner = None
            return
        if self.owner is not None:
            part = "VERTEX" if self.owner.kind == "POLYLINE" else "ATTRIB"
            if entity.kind == part:
                self._count(entity)
                self.owner.parts.append(entity)
                return
            self._close_owner()
        self._count(entity)
        if entity.kind in ("POLYLINE", "INSERT"):
            self.owner = entity
        if self.section == "ENTITIES":
            self.raw.entities.append(entity)
            return
        # A block whose opening is lost: what it held is kept under a name of its own.
        block = self.block or self._begin_block(entity.line, [])
        block.entities.append(entity)

    def _count(self, entity: Entity) -> None:
        limits, path = self.source.limits, self.source.path
        if entity.kind == "VERTEX":
            self.vertex_count += 1
            if self.vertex_count > limits.commands:
                limits.check("commands", self.vertex_count, "vertices", path=path, place=entity.place)
        else:
            self.entity_count += 1
            limits.check("elements", self.entity_count, "entities", path=path, place=entity.place)
            if entity.kind == "LWPOLYLINE":
                self.vertex_count += sum(tag.code == 10 for tag in entity.tags)
                limits.check("commands", self.vertex_count, "vertices", path=path, place=entity.place)

    def _without_decimal_commas(self, tags: list[Tag]) -> list[Tag]:
        """Check every number that is geometry; turn decimal commas into points where the whole file has them."""
        commas: list[int] = []
        pointed: Tag | None = None
        within = False
        for index, tag in enumerate(tags):
            _, code, value = tag
            if code == 0 and value.strip().upper() == "SECTION" and index + 1 < len(tags):
                within = tags[index + 1].value.strip().upper() in _ENTITY_SECTIONS
            if not within or code not in _GEOMETRY_CODES:
                continue
            try:
                # False for what is not a number, too.
                if abs(float(value)) <= LARGEST_NUMBER:
                    if pointed is None and "." in value:
                        pointed = tag
                    continue
            except ValueError:
                if _COMMA_NUMBER.fullmatch(value):
                    commas.append(index)
                    continue
            raise InputError(
                f'"{tag.value.strip()[:40]}" is not a number that can be measured',
                path=self.source.path,
                place=Place(f"line {tag.line + 1}", tag.line + 1),
                remedy="delete or redraw that element in the drawing program and save the file again",
            )
        if not commas:
            return tags
        if pointed is not None:
            raise InputError(
                f'decimal commas ("{tags[commas[0]].value.strip()}") and decimal points '
                f'("{pointed.value.strip()}" in line {pointed.line + 1}) are mixed',
                path=self.source.path,
                place=Place(f"line {tags[commas[0]].line + 1}", tags[commas[0]].line + 1),
                remedy="save the file again with decimal points",
            )
        tags = list(tags)
        for index in commas:
            tags[index] = tags[index]._replace(value=tags[index].value.replace(",", "."))
        message = "All numbers have decimal commas; they are read as decimal points."
        self.raw.notes.append(Note("decimal-comma", message))
        return tags

    def _note_repairs(self) -> None:
        notes = self.raw.notes
        for what, count in sorted(self.repairs.items()):
            times = "" if count == 1 else f" ({count} times)"
            notes.append(Note("repaired", f"The {what} is missing{times}; it is read as if it were there."))
        for name in sorted(self.colliding):
            message = (
                f'Several blocks are called "{name}" or differ only in capitals; they are kept apart, '
                f'the later ones as "{name}~2" and so on.'
            )
            notes.append(Note("block-names-equal", message))
