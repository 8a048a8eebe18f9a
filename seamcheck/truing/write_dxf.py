"""A trued pattern written into its plain DXF: old entities moved to a layer of their own, new ones beside them.

The layer of the old is drawn thin and dashed, that of the new heavy, so that a plot without colours tells them apart. Weights of
lines are in a DXF from AC1015 (2000) on; before, and in a file without a table of layers, there is less to tell them by. What an
entity itself says of its look is kept.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby, pairwise

import numpy as np

from seamcheck.errors import InputError
from seamcheck.geometry.curve import Curve
from seamcheck.pattern.drawing import LineMark
from seamcheck.pattern.words import NEW_LINES, OLD_LINES
from seamcheck.truing.dxf_pairs import Pairs, Record, made, number
from seamcheck.truing.edits import Edit

OLD_LAYER = OLD_LINES.upper().replace(" ", "_")
CRUMB = 1e-4  # mm
CHORD = 0.002  # mm: how near chords keep to a curve, in files that know no splines
DASHES = (3.0, 2.0)  # mm on the plot
OLD_TYPE = "BEFORE_TRUING"  # the line type of the old lines
THIN, HEAVY = "13", "50"  # hundredths of a mm, of those weights that a DXF may name
AFTER_TABLES = ("BLOCKS", "ENTITIES")  # the sections before which tables stand
EXTENDED = 1000  # data of other programs, behind all else of a row
_COMMON = (330, 67, 6, 62, 48, 370, 420, 440)  # what an entity looks like and where it belongs

Tags = list[tuple[int, str]]


def write_dxf(data: bytes, path: str, lines: Sequence[LineMark], edits: Iterable[Edit]) -> bytes:
    """The file with the edits in it; `lines` are all lines that were read from it.

    InputError for a line in a block that is drawn in several places, and for a file that is not text.
    """
    pairs = Pairs(data, path)
    drawn = Counter(mark.place for mark in lines)
    modern = is_modern(pairs)
    handles = Handles(pairs)
    layers: dict[str, str] = {}
    unit = next((mark.frame.scale for mark in lines if mark.frame is not None), 1.0)  # mm in one of the file
    for edit in edits:
        used = {id(mark): mark for mark in (*edit.old, *(like for _, like in edit.new))}
        for mark in used.values():
            if mark.frame is None or drawn[mark.place] > 1:
                raise InputError(
                    f"{edit.piece}: a line to be redrawn is in a block that is drawn in several places",
                    path=path,
                    place=mark.place,
                    remedy="explode the block in the drawing program, then try again",
                )
            unit = mark.frame.scale
        at = {key: pairs.entity(mark.place) for key, mark in used.items()}
        for curve, like in edit.new:
            old = at[id(like)]
            layer = own = old[0].text(8, "0")
            if edit.old:  # what takes nothing away is no new line, but another like the old one
                layer = f"{own}-{NEW_LINES.upper()}"
                layers[layer] = own
            for tags in _entities(curve, like, modern=modern):
                old[-1].added.append(_record(tags, old[0], layer, handles, modern=modern))
        for point, to in (*edit.points, *edit.added):
            (record,) = pairs.entity(point.place)
            other = record.copy()
            if other.first(5) is not None:
                other.put(5, handles.next())
            record.added.append(other)
            goes = other if (point, to) in edit.added else record
            if goes is record:
                other.put(8, OLD_LAYER)
                layers.setdefault(OLD_LAYER, record.text(8, "0"))
            for code, by in ((10, to.real - point.at.real), (20, to.imag - point.at.imag)):
                goes.put(code, number(float(goes.text(code)) + by / unit))
        for mark in edit.old:
            layers.setdefault(OLD_LAYER, at[id(mark)][0].text(8, "0"))
            for record in at[id(mark)]:
                record.put(8, OLD_LAYER)
    add_layers(pairs, layers, handles, unit, modern=modern)
    handles.close()
    return pairs.data()


def is_modern(pairs: Pairs) -> bool:
    """Whether a file may say how heavy a line is: those from AC1015 (2000) on."""
    stated = pairs.variable("$ACADVER")
    return stated is not None and stated.text >= "AC1015"


def _entities(curve: Curve, like: LineMark, *, modern: bool) -> Iterator[tuple[str, str, Tags]]:
    """Kind, subclass and pairs of the entities that draw a curve, in the numbers of the entity it is like."""
    assert like.frame is not None
    to_file = like.frame.inverse()
    for is_straight, rows in groupby(_without_crumbs(curve.segments), key=lambda row: Curve([row]).is_straight(1e-9)):
        part = np.array(list(rows))
        points = to_file.apply(np.append(part[:, 0], part[-1, 3]))
        if not is_straight and not modern:
            points, is_straight = to_file.apply(Curve(part).polygon(CHORD)), True
        if is_straight and len(points) == 2:
            yield "LINE", "AcDbLine", [*_at(points[0]), *_at(points[1], 11)]
        elif is_straight and modern:
            body: Tags = [(90, str(len(points))), (70, "0")]
            for point in points:
                body += [(10, number(point.real)), (20, number(point.imag))]
            yield "LWPOLYLINE", "AcDbPolyline", body
        elif is_straight:
            for a, b in pairwise(points):
                yield "LINE", "", [*_at(a), *_at(b, 11)]
        else:
            yield "SPLINE", "AcDbSpline", _spline(to_file.apply(part))


def _without_crumbs(rows: np.ndarray) -> np.ndarray:
    """The segments of a line but for those that rounding has left at a join; those beside them reach over."""
    sized = np.abs(np.diff(rows, axis=1)).max(axis=1) >= CRUMB
    if sized.all() or not sized.any():
        return rows
    kept: np.ndarray = rows[sized].copy()
    kept[1:, 0] = kept[:-1, 3]
    kept[0, 0], kept[-1, 3] = rows[0, 0], rows[-1, 3]
    return kept


def _spline(rows: np.ndarray) -> Tags:
    """Cubics that follow each other as one B-spline: inner knots threefold, so that every cubic is kept exactly."""
    control = [rows[0, 0], *(point for row in rows for point in row[1:])]
    knots = [0.0, *(float(k) for k in range(len(rows) + 1) for _ in range(3)), float(len(rows))]
    body: Tags = [(70, "8"), (71, "3"), (72, str(len(knots))), (73, str(len(control))), (74, "0")]
    body += [(40, number(knot)) for knot in knots]
    return body + [pair for point in control for pair in _at(point)]


def _at(point: complex, code: int = 10) -> Tags:
    return [(code, number(point.real)), (code + 10, number(point.imag)), (code + 20, "0.0")]


def _record(tags: tuple[str, str, Tags], old: Record, layer: str, handles: Handles, *, modern: bool) -> Record:
    kind, subclass, body = tags
    pairs: Tags = [(0, kind)]
    if handles.used:
        pairs.append((5, handles.next()))
    common = [(code, old.text(code)) for code in _COMMON if old.first(code) is not None]
    pairs += [pair for pair in common if pair[0] == 330]
    if modern:
        pairs.append((100, "AcDbEntity"))
    pairs += [(8, layer), *(pair for pair in common if pair[0] != 330)]
    if modern:
        pairs.append((100, subclass))
    return made(old, [*pairs, *body])


class Handles:
    """Handles that no entity of the file has yet."""

    def __init__(self, pairs: Pairs) -> None:
        """Look through the file for those that are taken."""
        self.pairs = pairs
        codes = [(r, 105 if r.kind == "DIMSTYLE" else 5) for r in pairs.records]
        found = [int(text, 16) for r, code in codes if _is_hex(text := r.text(code))]
        seed = pairs.variable("$HANDSEED")
        stated = int(seed.text, 16) if seed is not None and _is_hex(seed.text) else 0
        self.used = bool(found)
        self.free = max([*(one + 1 for one in found), stated], default=1)
        self.begun = False

    def next(self) -> str:
        """The next free handle."""
        self.free += 1
        self.begun = True
        return f"{self.free - 1:X}"

    def close(self) -> None:
        """Tell the header which handle comes next."""
        seed = self.pairs.variable("$HANDSEED")
        if self.begun and seed is not None:
            seed.put(f"{self.free:X}")


def _is_hex(text: str) -> bool:
    return bool(text) and all(letter in "0123456789abcdefABCDEF" for letter in text)


def add_layers(pairs: Pairs, layers: dict[str, str], handles: Handles, unit: float, *, modern: bool) -> None:
    """Rows in the layer table for new layers, each like the one that its lines come from; none where there is no table.

    `unit` is mm in one of the file.
    """
    rows = {record.text(2).casefold(): record for record in pairs.records if record.kind == "LAYER"}
    table = _table(pairs, "LAYER")
    if not rows or table is None:
        return
    last = list(rows.values())[-1]
    count = 0
    for name, like in layers.items():
        if name.casefold() in rows:
            continue
        row = rows.get(like.casefold(), last).copy()
        row.put(2, name)
        if row.first(5) is not None:
            row.put(5, handles.next())
        if name == OLD_LAYER and _add_dashes(pairs, handles, unit):
            row.put(6, OLD_TYPE)
        if modern and (row.first(370) is not None or all(pair.code < EXTENDED for pair in row.pairs)):
            row.put(370, THIN if name == OLD_LAYER else HEAVY)
        last.added.append(row)
        count += 1
    _count(table, count)


def _add_dashes(pairs: Pairs, handles: Handles, unit: float) -> bool:
    """A row for dashes in the table of line types; False where there is no such table."""
    rows = [record for record in pairs.records if record.kind == "LTYPE"]
    table = _table(pairs, "LTYPE")
    if not rows or table is None:
        return False
    if any(row.text(2).upper() == OLD_TYPE for row in rows):
        return True
    like = rows[-1]
    parts = [part / unit for part in DASHES]
    body: Tags = [(0, "LTYPE")]
    if like.first(5) is not None:
        body.append((5, handles.next()))
    body += [(pair.code, pair.text) for pair in like.pairs if pair.code in (330, 100)]
    body += [(2, OLD_TYPE), (70, "0"), (3, "line before truing"), (72, "65"), (73, "2"), (40, number(sum(parts)))]
    for part in (parts[0], -parts[1]):
        body += [(49, number(part)), (74, "0")] if like.first(100) is not None else [(49, number(part))]
    like.added.append(made(like, body))
    _count(table, 1)
    return True


def add_tables(pairs: Pairs, unit: float) -> None:
    """A section of tables in a file before 2000 that has none: only there can it say that the layer of old lines is dashed."""
    if is_modern(pairs) or any(record.kind == "TABLE" for record in pairs.records):
        return
    sections = [
        k for k, record in enumerate(pairs.records) if record.kind == "SECTION" and record.text(2) in AFTER_TABLES
    ]
    if not sections or not sections[0]:
        return
    dashes = [part / unit for part in DASHES]
    like = pairs.records[sections[0] - 1]
    like.added += [
        made(like, record)
        for record in (
            [(0, "SECTION"), (2, "TABLES")],
            [(0, "TABLE"), (2, "LTYPE"), (70, "2")],
            [(0, "LTYPE"), (2, "CONTINUOUS"), (70, "0"), (3, "Solid line"), (72, "65"), (73, "0"), (40, "0.0")],
            [
                *[
                    (0, "LTYPE"),
                    (2, OLD_TYPE),
                    (70, "0"),
                    (3, OLD_LINES),
                    (72, "65"),
                    (73, "2"),
                    (40, number(sum(dashes))),
                ],
                *[(49, number(dashes[0])), (49, number(-dashes[1]))],
            ],
            [(0, "ENDTAB")],
            [(0, "TABLE"), (2, "LAYER"), (70, "1")],
            [(0, "LAYER"), (2, OLD_LAYER), (70, "0"), (62, "7"), (6, OLD_TYPE)],
            [(0, "ENDTAB")],
            [(0, "ENDSEC")],
        )
    ]


def _table(pairs: Pairs, name: str) -> Record | None:
    return next((r for r in pairs.records if r.kind == "TABLE" and r.text(2).upper() == name), None)


def _count(table: Record, more: int) -> None:
    """Tell a table that it has more rows."""
    entries = table.first(70)
    if more and entries is not None and entries.text.isdigit():
        entries.put(f"{int(entries.text) + more:>{len(entries.body.rstrip())}}")
