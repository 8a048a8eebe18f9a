"""The raw pass over a DXF file: pairs of group code and value, put together to sections, blocks and entities.

Nothing is interpreted here and nothing is dropped: every entity keeps all its pairs and the line it begins on,
so that whatever a reader does not use can be counted and named. Faults that leave no doubt about what was meant
are mended and noted; others are errors that name the line.

Structure after the DXF reference (general file structure, group codes by number).

Both kinds of DXF are read from this one pass, which the ledger needs anyway: nothing is merged or dropped in
silence, an arc under an unequal scale stays one curve, and the repairs serve both. ezdxf is imported for binary
files and for splines given by fit points alone, and is the independent check in `tests/outside` and the second reader
(`reading/second/`, with svgelements for SVG).
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import compress
from operator import not_

import numpy as np
import numpy.typing as npt

from seamcheck.errors import InputError
from seamcheck.pattern.drawing import Note, Place
from seamcheck.reading.base import Source
from seamcheck.reading.dxf.records import Alike, Entity, Layer, Pairs, RawBlock, RawDrawing
from seamcheck.reading.dxf.text import decode, plain

Reals = npt.NDArray[np.float64]

BINARY_SENTINEL = b"AutoCAD Binary DXF\r\n\x1a\x00"  # DXF reference, binary DXF files
LARGEST_NUMBER = 1e15  # in any unit; reckoning with larger ones loses the millimetres
LARGEST_COORDINATE = 1e7  # ten kilometres in mm: beyond it doubles no longer hold a micrometre


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
        pairs, raw = _binary_pairs(source), RawDrawing(source.path, "binary")
    else:
        decoded = decode(source)
        raw = RawDrawing(source.path, decoded.encoding, notes=list(decoded.notes))
        pairs = _text_pairs(source, decoded.text, raw)
        del decoded
    _Assembler(source, raw, pairs).assemble()
    if not raw.entities and not any(block.entities for block in raw.blocks.values()):
        raise InputError(
            "the drawing is empty: it holds no line and no text",
            path=source.path,
            remedy="save it again from the drawing program, with the pattern in it",
        )
    return raw


def _binary_pairs(source: Source) -> Pairs:
    from ezdxf.lldxf.const import DXFError
    from ezdxf.lldxf.tagger import binary_tags_loader

    pairs = Pairs([], [], np.empty(0), lines=1)
    try:
        for index, (code, value) in enumerate(binary_tags_loader(source.data, errors="replace")):
            source.limits.check("tags", index, "pairs of group code and value", path=source.path)
            pairs.codes.append(code)
            pairs.values.append(value if isinstance(value, str) else str(value))
    except (DXFError, ValueError, IndexError) as error:
        raise InputError(
            f"the binary DXF breaks off or is damaged ({str(error).lower() or 'no end found'})",
            path=source.path,
            remedy="save it again as a text DXF",
        ) from None
    pairs.numbers = np.full(len(pairs.codes), np.nan)
    return pairs


def _text_pairs(source: Source, text: str, raw: RawDrawing) -> Pairs:
    source.limits.check("tags", text.count("\n") // 2, "pairs of group code and value", path=source.path)
    last = len(text.rstrip())
    codes: list[int] = []
    values: list[str] = []
    numbers: list[Reals] = []
    usual: dict[str, str] = {}
    drawn = False
    try:
        for lines in _in_runs(text, last):
            its_codes, its_values = list(map(int, lines[: len(lines) // 2 * 2 : 2])), lines[1::2]
            # What stands over and over, as names of entities and layers do, is kept once.
            usual = usual or {value: value for value in its_values[:1000]}
            found = _numbers(its_codes, its_values)
            its_values = list(map(usual.get, its_values, its_values))
            if drawn and found is not None:
                texts = np.array(its_values, dtype=object)
                texts[~np.isnan(found)] = ""
                its_values = texts.tolist()
            drawn = drawn or any(name in its_values for name in _ENTITY_SECTIONS)
            codes += its_codes
            values += its_values
            numbers.append(np.full(len(its_codes), np.nan) if found is None else found)
    except ValueError:
        lines = text[:last].split("\n")
        values = lines[1::2]
        codes = []
        # Something stands where a group code belongs; it does not matter after the end mark.
        for index in range(0, len(lines) - 1, 2):
            try:
                codes.append(int(lines[index]))
            except ValueError:
                raise _misplaced_line(source, lines, index) from None
            if codes[-1] == 0 and values[index // 2].strip() == "EOF":
                break
        numbers = [np.full(len(codes), np.nan)]
    end = next(iter(_spelled(values, _marks(codes), lambda value: value.strip() == "EOF")), None)
    count = text.count("\n", 0, last) + 1
    if end is None:
        if count % 2 or not text.endswith("\n"):
            raise _breaks_off(source, count)
        return Pairs(codes, values, np.concatenate(numbers))
    if 2 * end + 2 < count:
        raw.notes.append(Note("repaired", "What stands after the end mark of the file is not read."))
    del codes[end + 1 :], values[end + 1 :]
    return Pairs(codes, values, np.concatenate(numbers)[: end + 1])


def _numbers(codes: Sequence[int], values: Sequence[str]) -> Reals | None:
    """The values of geometry as numbers, not a number elsewhere; None where one of them cannot be measured."""
    geometry = _geometry(codes)
    found = _measurable(compress(values, geometry.tolist()))
    if found is None:
        return None
    numbers = np.full(len(codes), np.nan)
    numbers[geometry] = found
    return numbers


def _geometry(codes: Sequence[int]) -> npt.NDArray[np.bool_]:
    """Which group codes are those of geometry."""
    return np.fromiter(map(_GEOMETRY_CODES.__contains__, codes), np.bool_, len(codes))


def _measurable(texts: Iterable[str]) -> Reals | None:
    """Texts as numbers; None where one of them is none, or too large."""
    try:
        found = np.array(list(map(float, texts)), dtype=np.float64)
    except ValueError:
        return None
    return found if (np.abs(found) <= LARGEST_NUMBER).all() else None


_PAIRS = 1 << 15  # pairs of which the numbers are read at a time
_RUN = 1 << 16  # letters of a file that are taken apart at a time


def _in_runs(text: str, last: int) -> Iterator[list[str]]:
    """The lines of the first `last` letters of a text, an even number at a time: all at once, each a string of its own, would take many times its memory."""
    start = 0
    while start <= last:
        end = text.find("\n", start + _RUN, last)
        lines = text[start : end if end >= 0 else last].split("\n")
        if end >= 0 and len(lines) % 2:
            after = text.find("\n", end + 1, last)
            after = after if after >= 0 else last
            lines.append(text[end + 1 : after])
            end = after
        yield lines
        if end < 0:
            return
        start = end + 1


def _marks(codes: list[int]) -> list[int]:
    """Where something begins: a section, a table, an entity, the end."""
    return list(compress(range(len(codes)), map(not_, codes)))


def _spelled(values: Sequence[str], starts: Sequence[int], is_it: Callable[[str], bool]) -> list[int]:
    """Where what begins is what is looked for; each spelling is asked about once, since few of them stand for all entities of a file."""
    found = set(filter(is_it, {values[start] for start in starts}))
    return [start for start in starts if values[start] in found]


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

    def __init__(self, source: Source, raw: RawDrawing, pairs: Pairs) -> None:
        self.source = source
        self.raw = raw
        self.pairs = pairs
        self.section = ""
        self.block: RawBlock | None = None
        self.owner: Entity | None = None  # the polyline or insert whose parts are being read
        self.entity_count = 0
        self.vertex_count = 0
        self.repairs: Counter[str] = Counter()
        self.names: Counter[str] = Counter()
        self.colliding: set[str] = set()

    def assemble(self) -> None:
        """Fill the raw drawing with the records of all pairs."""
        pairs = self.pairs
        starts = _marks(pairs.codes)
        self._check_numbers(starts)
        ended = False
        ends = [*starts[1:], len(pairs.codes)]
        record = 0
        while record < len(starts):
            start, end = starts[record], ends[record]
            kind = pairs.values[start].strip().upper()
            if kind == "EOF":
                ended = True
                break
            alike = self._vertices(start, end) if kind == "VERTEX" else None
            if alike is None:
                self._record(Entity(kind, pairs, start + 1, end))
                record += 1
            else:
                record += len(alike)
        if not ended:
            # Between two whole entities only the closing marks can be missing; elsewhere content is.
            if self.block or self.section not in ("", "ENTITIES") or (self.owner and self._owner_is_open()):
                raise _breaks_off(self.source, pairs.line(len(pairs.codes) - 1) + 1 if pairs.codes else 1)
            self.repairs["end mark of the file (EOF)"] += 1
        if self.section:
            self.repairs["end of a section (ENDSEC)"] += 1
        self._note_repairs()
        self._check_lines()

    def _check_lines(self) -> None:
        """Refuse what makes one line dearer than all others together, before any is drawn."""
        limits, path = self.source.limits, self.source.path
        for entity in self.raw.all_entities():
            count = entity.vertex_count()
            if count > limits.line:
                limits.check("line", count, "vertices of one line", path=path, place=entity.place)
            if entity.kind == "SPLINE" and entity.integer(71, 3) > limits.degree:
                what = "control points to each stretch of a spline (its degree)"
                limits.check("degree", entity.integer(71), what, path=path, place=entity.place)

    def _vertices(self, start: int, end: int) -> Alike | None:
        """The vertices of a polyline that are written alike from here on, made its parts; None where there are no others before them."""
        if (
            not self._owner_is_open()
            or self.owner is None
            or self.owner.parts
            or self.section not in _ENTITY_SECTIONS
        ):
            return None
        codes, values, size = self.pairs.codes, self.pairs.values, end - start
        one, written, count = codes[start:end], values[start], 1
        # As many more as there may be at once, then half of them.
        step = 64
        while step:
            after = start + size * count
            if (
                codes[after : after + size * step] == one * step
                and values[after : after + size * step : size] == [written] * step
                and codes[after + size * step : after + size * step + 1] in ([], [0])
            ):
                count += step
            else:
                step //= 2
        self.vertex_count += count
        found = self.owner.parts = Alike("VERTEX", self.pairs, start, size, count)
        if self.vertex_count > self.source.limits.commands:
            place = found[count - 1 - (self.vertex_count - self.source.limits.commands - 1)].place
            number = self.source.limits.commands + 1
            self.source.limits.check("commands", number, "vertices", path=self.source.path, place=place)
        return found

    def _owner_is_open(self) -> bool:
        return self.owner is not None and self.owner.kind == "POLYLINE"

    def _record(self, record: Entity) -> None:
        kind = record.kind
        if kind == "SECTION":
            self._begin_section(record)
        elif kind == "ENDSEC":
            self._close_block()
            self.section = ""
        elif self.section == "TABLES" and kind == "LAYER":
            self._layer(record)
        elif self.section == "BLOCKS" and kind == "BLOCK":
            self._begin_block(record)
        elif kind == "ENDBLK":
            self._close_owner()
            self.block = None
        elif self.section in _ENTITY_SECTIONS:
            self._entity(record)

    def _begin_section(self, record: Entity) -> None:
        self._close_block()
        if self.section:
            self.repairs["end of a section (ENDSEC)"] += 1
        self.section = record.text(2, "?").strip().upper()
        self.raw.sections[self.section] += 1
        if self.section == "HEADER":
            name = ""
            for code, value in record.tags:
                if code == 9:
                    name = value.strip().upper()
                    self.raw.header[name] = ""
                elif name:
                    self.raw.header[name] = value.strip()
                    name = ""

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

    def _begin_block(self, record: Entity) -> RawBlock:
        self._close_block()
        given = plain(record.text(2))
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
                message = f'The block at line {record.line} has no name; it is called "{name}".'
                self.raw.notes.append(Note("block-unnamed", message))
        self.block = RawBlock(name, record)
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
                if isinstance(self.owner.parts, list):
                    self.owner.parts.append(entity)
                else:
                    self.owner.parts = [*self.owner.parts, entity]
                return
            self._close_owner()
        self._count(entity)
        if entity.kind in ("POLYLINE", "INSERT"):
            self.owner = entity
        if self.section == "ENTITIES":
            self.raw.entities.append(entity)
            return
        # A block whose opening is lost: what it held is kept under a name of its own.
        block = self.block or self._begin_block(Entity("BLOCK", entity.pairs, entity.first, entity.first))
        block.entities.append(entity)

    def _count(self, entity: Entity) -> None:
        limits, path = self.source.limits, self.source.path
        if entity.kind == "VERTEX":
            self.vertex_count += 1
            if self.vertex_count > limits.commands:
                limits.check("commands", self.vertex_count, "vertices", path=path, place=entity.place)
        else:
            self.entity_count += 1
            if self.entity_count > limits.elements:
                limits.check("elements", self.entity_count, "entities", path=path, place=entity.place)
            if count := entity.vertex_count():
                self.vertex_count += count
                limits.check("commands", self.vertex_count, "vertices", path=path, place=entity.place)

    def _check_numbers(self, starts: list[int]) -> None:
        """Check every number that is geometry; turn decimal commas into points where the whole file has them."""
        codes, values = self.pairs.codes, self.pairs.values
        sections = _spelled(values, starts, lambda value: value.strip().upper() == "SECTION")
        drawn = [
            (start, end)
            for start, end in zip(sections, [*sections[1:], len(codes)], strict=False)
            if start + 1 < len(codes) and values[start + 1].strip().upper() in _ENTITY_SECTIONS
        ]
        numbers = self.pairs.numbers
        if all(self._read_numbers(start, end) for start, end in drawn):
            return
        geometry = [k for start, end in drawn for k in range(start, end) if codes[k] in _GEOMETRY_CODES]
        self._mend_commas(geometry)
        for k in geometry:
            numbers[k] = float(values[k] or numbers[k])

    def _read_numbers(self, start: int, end: int) -> bool:
        """Read the numbers of geometry that were not read with their lines; whether all can be measured."""
        codes, values, numbers = self.pairs.codes, self.pairs.values, self.pairs.numbers
        for low in range(start, end, _PAIRS):
            part = slice(low, min(low + _PAIRS, end))
            unread = low + np.flatnonzero(_geometry(codes[part]) & np.isnan(numbers[part]))
            found = _measurable(values[k] for k in unread.tolist())
            if found is None:
                return False
            numbers[unread] = found
        return True

    def _mend_commas(self, geometry: list[int]) -> None:
        numbers, values = self.pairs.numbers, self.pairs.values
        commas = [*map(_COMMA_NUMBER.fullmatch, values)]
        pointed: int | None = None
        for index in geometry:
            value = values[index]
            try:
                if numbers[index] == numbers[index] or abs(float(value)) <= LARGEST_NUMBER:
                    if pointed is None and ("." in value or not value):
                        pointed = index
                    continue
            except ValueError:
                if commas[index]:
                    continue
            raise InputError(
                f'"{value.strip()[:40]}" is not a number that can be measured',
                path=self.source.path,
                place=self._value_at(index),
                remedy="delete or redraw that element in the drawing program and save the file again",
            )
        with_comma = [index for index in geometry if commas[index]]
        if pointed is not None:
            raise InputError(
                f'decimal commas ("{values[with_comma[0]].strip()}") and decimal points '
                f'("{values[pointed].strip() or numbers[pointed]}" in line {self.pairs.line(pointed) + 1}) are mixed',
                path=self.source.path,
                place=self._value_at(with_comma[0]),
                remedy="save the file again with decimal points",
            )
        for index in with_comma:
            values[index] = values[index].replace(",", ".")
        message = "All numbers have decimal commas; they are read as decimal points."
        self.raw.notes.append(Note("decimal-comma", message))

    def _value_at(self, index: int) -> Place:
        line = self.pairs.line(index) + 1
        return Place(f"line {line}", line)

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
