"""Patterns in the apparel DXF interchange (ANSI/AAMA-292, ASTM D6673): one block for each piece in each size.

The files are read straight from their pairs of group code and value. What stands in a block is in place already;
inserts say only whether and how often a piece is laid out.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

from seamcheck.errors import InputError
from seamcheck.pattern.drawing import Block, Drawing, Ledger, Note
from seamcheck.reading.base import Importer, Source
from seamcheck.reading.dxf.apparel_blocks import (
    BOUNDARY,
    RULE_TEXT,
    TEXT_KINDS,
    BlockDraft,
    layer_number,
    read_block,
)
from seamcheck.reading.dxf.apparel_marks import Marks
from seamcheck.reading.dxf.apparel_nest import inherit_labels, inherit_marks, name_sizes, single_out
from seamcheck.reading.dxf.curves import LINE_KINDS, NotDrawableError, vertices
from seamcheck.reading.dxf.grade_rules import GradeRules, find_companion, graded, read_rules
from seamcheck.reading.dxf.records import Alike, Entity, RawDrawing
from seamcheck.reading.dxf.tags import BINARY_SENTINEL, is_dxf, read_raw
from seamcheck.reading.dxf.text import statement
from seamcheck.reading.dxf.units import Units, find_units, stated_unit
from seamcheck.reading.dxf.unread import unread_notes

_PIECE_NAME = re.compile(rb"^[ \t]*piece[ \t]*name[ \t]*:", re.IGNORECASE | re.MULTILINE)
_BLOCKS = re.compile(rb"^[ \t]*2[ \t]*\r?[\r\n][ \t]*BLOCKS[ \t]*\r?[\r\n]", re.MULTILINE)


def recognises(source: Source) -> bool:
    """Whether the file has blocks that are pieces: by their system texts, their grade rules or their layers."""
    if not is_dxf(source) or source.data.startswith(BINARY_SENTINEL):
        return False
    data = source.data.replace(b"\r", b"\n") if b"\n" not in source.data else source.data
    if not _BLOCKS.search(data):
        return False
    if _PIECE_NAME.search(data):
        return True
    if not re.search(rb"POLYLINE", data):
        return False
    try:
        raw = read_raw(source)
    except InputError:
        return False
    return any(_is_piece(block.entities) for block in raw.blocks.values())


def _is_piece(entities: Sequence[Entity]) -> bool:
    """Whether a block without system texts is a piece: an outline on layer 1, beside other layers of the standard."""
    numbers = {layer_number(entity.layer) for entity in entities}
    outline = any(e.kind.endswith("POLYLINE") and layer_number(e.layer) == BOUNDARY for e in entities)
    ruled = any(e.kind in TEXT_KINDS and any(map(RULE_TEXT.fullmatch, e.writing())) for e in entities)
    return outline and None not in numbers and (len(numbers) > 1 or ruled)


# What the texts of the whole file state, with the spellings that are seen.
_STYLE_KEYS = {
    "style name": "style",
    "sample size": "sample",
    "grade rule table": "table",
    "grading rule table": "table",
    "units": "units",
    "unit": "units",
}


def read(source: Source) -> Drawing:
    """Read the pieces of a file in all its sizes. InputError for what cannot be read rightly."""
    raw = read_raw(source)
    style = _style(raw)
    rules = _companion(source, style)
    units = _units(source, raw, style, rules)
    notes = [*raw.notes, *units.notes, *(rules.notes if rules else ())]
    drafts = [
        read_block(block, units.factor, source.options.layers) for block in raw.blocks.values() if block.entities
    ]
    empty = [draft for draft in drafts if not draft.lines]
    pieces = [draft for draft in drafts if draft.lines]
    notes += name_sizes(pieces, style.get("sample", ""))
    notes += single_out(source, pieces)
    inherit_labels(pieces, style.get("sample", ""))
    sample = style.get("sample", "") or (rules.sample if rules else "")
    notes += inherit_marks(pieces, sample)
    ruled, more = _graded_pieces(source, pieces, rules, style, units)
    notes += more
    notes += _insert_notes(raw, pieces)

    marks = Marks(source)
    marks.add(pieces)
    marks.add(ruled, rounding=f"{rules.step * rules.factor(units.factor):g}" if rules else "")
    notes += marks.notes()
    ledger = _ledger(raw, [*pieces, *empty])
    notes += _unknown_codes(raw)
    notes += unread_notes((entity for draft in pieces for entity in draft.block.entities), units.factor)
    return Drawing(
        path=source.path,
        format="apparel DXF",
        y_down=False,
        units=units.name,
        lines=tuple(marks.lines),
        points=tuple(marks.points),
        texts=tuple(marks.texts),
        blocks=tuple(_in_size_order(marks.blocks, rules if ruled else None)),
        name=style.get("style", "") or Path(source.path).stem,
        sample_size=sample,
        notes=tuple(notes),
        ledger=ledger,
    )


def _style(raw: RawDrawing) -> dict[str, str]:
    """What the file states about itself; texts outside the blocks go before texts inside."""
    stated: dict[str, str] = {}
    for entities in (raw.entities, *(block.entities for block in raw.blocks.values())):
        for entity in entities:
            for text in entity.writing() if entity.kind in TEXT_KINDS else ():
                said, value = statement(text)
                key = _STYLE_KEYS.get(said)
                if key and value:
                    stated.setdefault(key, value)
    return stated


def _companion(source: Source, style: dict[str, str]) -> GradeRules | None:
    path = find_companion(source.path, style.get("table", ""))
    return read_rules(path, source.options) if path else None


def _units(source: Source, raw: RawDrawing, style: dict[str, str], rules: GradeRules | None) -> Units:
    stated = []
    if unit := stated_unit(style.get("units", "")):
        stated.append(("its text", unit))
    if rules and rules.unit:
        stated.append(("the rule table", rules.unit))
    return find_units(source, raw, stated, lambda: _sizes(raw))


def _sizes(raw: RawDrawing) -> list[float]:
    """The longer sides of the outlines, in file units."""
    sizes = []
    for block in raw.blocks.values():
        points: list[complex] = []
        for entity in block.entities:
            if entity.kind in LINE_KINDS and layer_number(entity.layer) == BOUNDARY:
                points += _vertices(entity)
        if points:
            x, y = [p.real for p in points], [p.imag for p in points]
            sizes.append(max(max(x) - min(x), max(y) - min(y)))
    return [size for size in sizes if size > 0]


def _vertices(entity: Entity) -> Sequence[complex]:
    if entity.kind not in ("LINE", "POLYLINE", "LWPOLYLINE"):
        return ()
    try:
        return vertices(entity).points
    except NotDrawableError:
        return ()


def _graded_pieces(
    source: Source, pieces: Sequence[BlockDraft], rules: GradeRules | None, style: dict[str, str], units: Units
) -> tuple[list[BlockDraft], list[Note]]:
    """The pieces in the sizes of the rule table, where the drawing itself holds only the sample size."""
    nested = len({draft.size for draft in pieces}) > 1
    ruled = any(draft.has_rules for draft in pieces)
    if nested:
        if rules is None:
            return [], []
        message = "The drawing holds all sizes itself; the rule table beside it is not needed."
        return [], [Note("rule-table-unused", message)]
    if rules is None:
        if not ruled and "table" not in style:
            return [], []
        named = f' ("{style["table"]}")' if "table" in style else ""
        message = (
            f"The other sizes are graded by a rule table{named} that does not lie beside the drawing; only the "
            "sample size is read. Put the .rul file beside it to check every size."
        )
        return [], [Note("rule-table-missing", message)]
    if not ruled:
        message = "A rule table lies beside the drawing, but no point of the drawing names a rule; it is not used."
        return [], [Note("rule-table-unused", message)]
    for draft in pieces:
        draft.size = draft.size or rules.sample
    made = [
        graded(draft, rules, size, units.factor) for size in rules.sizes for draft in pieces if size != rules.sample
    ]
    step = rules.step * rules.factor(units.factor)
    message = (
        f"Sizes other than {rules.sample} are computed from rules ({Path(rules.path).name}), whose moves are "
        f"rounded to {step:.3g} mm: seams between points of theirs can be off by {3 * step:.2g} mm without any fault. "
        "Only a graded nest gives exact seams in every size."
    )
    return made, [Note("graded-by-rule", message)]


def _in_size_order(blocks: Sequence[Block], rules: GradeRules | None) -> list[Block]:
    if rules is None:
        return list(blocks)
    order = {size: index for index, size in enumerate(rules.sizes)}
    return sorted(blocks, key=lambda block: order.get(block.size, -1))


def _insert_notes(raw: RawDrawing, pieces: Sequence[BlockDraft]) -> list[Note]:
    """What the inserts say that a reader should know: none is used to place anything."""
    notes = []
    inserts = [entity for entity in raw.entities if entity.kind == "INSERT"]
    placed = Counter(insert.text(2).strip().casefold() for insert in inserts)
    for insert in inserts:
        name = insert.text(2).strip()
        if raw.block(name) is None:
            message = (
                f'"{name}" is laid out at {insert.place}, but the file holds no such block; a piece may be missing.'
            )
            notes.append(Note("insert-without-block", message))
    for draft in pieces:
        name = draft.block.name.split("~")[0].casefold()
        if placed and not placed[name]:
            message = f'"{draft.block.name}" is in the file but not laid out in the drawing; it is read all the same.'
            notes.append(Note("block-not-inserted", message))
    for insert in inserts:
        scales = [insert.number(code, 1.0) for code in (41, 42)]
        turned = insert.number(50) % 360.0
        if raw.block(insert.text(2).strip()) and (any(abs(s - 1.0) > 1e-9 for s in scales) or turned):
            message = (
                f'"{insert.text(2).strip()}" is laid out scaled {scales[0]:g} by {scales[1]:g} and turned by '
                f"{turned:g} degrees; it is measured as its block holds it."
            )
            notes.append(Note("insert-transformed", message))
    return notes


def _ledger(raw: RawDrawing, drafts: Sequence[BlockDraft]) -> Ledger:
    read_count = sum(1 for _ in raw.all_entities())
    aside: Counter[str] = Counter()
    left_out: set[tuple[str, str]] = set()
    for draft in drafts:
        aside += draft.aside
        left_out |= draft.left_out
    for entity in raw.entities:
        if entity.kind not in (*TEXT_KINDS, "INSERT"):
            aside[f"{entity.kind} on layer {entity.layer}, outside every piece"] += 1
            left_out.add((entity.kind, entity.layer))
    used = read_count - aside.total()
    return Ledger(read=read_count, used=used, aside=dict(sorted(aside.items())), left_out=frozenset(left_out))


# Group codes that are read, or that say nothing about a pattern: handles, layers, styles, colours, extents of texts.
_KNOWN_CODES = {
    "POLYLINE": {10, 20, 30, 40, 41, 66, 70, 71, 72, 73, 74, 75},
    "VERTEX": {10, 20, 30, 40, 41, 42, 50, 70, 91},
    "LINE": {10, 20, 30, 11, 21, 31},
    "POINT": {10, 20, 30, 39, 50},
    "TEXT": {1, 7, 10, 20, 30, 11, 21, 31, 40, 41, 50, 51, 71, 72, 73},
    "INSERT": {2, 10, 20, 30, 41, 42, 43, 44, 45, 50, 66, 70, 71},
}
_COMMON_CODES = frozenset(
    (*range(5, 9), 39, 48, *range(60, 70), 92, *range(100, 103), 210, 220, 230, 310, 330, 347, 348, 360, 370, 390)
)


def _unknown_codes(raw: RawDrawing) -> list[Note]:
    """One note for all group codes that the standard gives no meaning on the entity they stand on."""
    alike: Counter[tuple[str, tuple[int, ...]]] = Counter()
    for entity in raw.all_entities():
        alike[entity.kind, tuple(entity.codes)] += 1
        if isinstance(entity.parts, Alike):
            alike[entity.parts.kind, tuple(entity.parts.codes)] += len(entity.parts)
        elif entity.kind == "POLYLINE":
            alike.update((part.kind, tuple(part.codes)) for part in entity.parts)
    found: Counter[tuple[int, str]] = Counter()
    for (kind, codes), times in alike.items():
        for code in codes if kind in _KNOWN_CODES else ():
            if code not in _KNOWN_CODES[kind] and code not in _COMMON_CODES and code < 1000:
                found[code, kind] += times
    if not found:
        return []
    listed = ", ".join(f"{code} on {count} {kind}" for (code, kind), count in sorted(found.items()))
    return [Note("unknown-codes", f"Group codes that have no meaning there are not used: {listed}.")]


IMPORTER = Importer("apparel-dxf", "a DXF of the apparel interchange", recognises, read)
