"""Any other DXF: a drawing of a general CAD program, whose lines are told apart by layer names and by shape.

Read from the same pairs as the apparel files, so that one reading of every entity serves both. Inserted blocks are
followed with exact affine maps: an arc under an unequal scale stays one curve.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from operator import itemgetter
from pathlib import Path

import numpy as np

from seamcheck.errors import InputError
from seamcheck.geometry.curve import Affine, Curve
from seamcheck.pattern.drawing import Drawing, Ledger, LengthSource, LineMark, Note, PointMark, Role, TextMark
from seamcheck.pattern.scale import FACTORS, labelled_square, stated_square
from seamcheck.pattern.words import Verdict, plain_layer, role_by_words, role_in
from seamcheck.places import Place
from seamcheck.reading.arrowheads import with_arrowheads
from seamcheck.reading.base import Importer, Source
from seamcheck.reading.dxf import apparel
from seamcheck.reading.dxf.apparel_blocks import TEXT_KINDS, layer_number, line_role
from seamcheck.reading.dxf.curves import LINE_KINDS, NotDrawableError, axes, curve_of, fit_points_only
from seamcheck.reading.dxf.records import Entity, RawDrawing
from seamcheck.reading.dxf.tags import is_dxf, read_raw
from seamcheck.reading.dxf.units import find_units, header_unit, refuse_far
from seamcheck.reading.dxf.unread import paper_notes, unread_notes

_DRAWN = LINE_KINDS | TEXT_KINDS | {"POINT", "LEADER"}
_NOTHING = 1e-9  # a scale below this leaves nothing to see


def recognises(source: Source) -> bool:
    """Whether this is a DXF that is not one of the apparel interchange."""
    return is_dxf(source) and not apparel.recognises(source)


def read(source: Source) -> Drawing:
    """Read every line, point and text of the model space. InputError for what cannot be read rightly."""
    raw = read_raw(source)
    plan = _Plan(source, raw)
    sheet = _Sheet(source, raw, plan, 1.0)
    stated: list[tuple[str, str]] = []
    by_square: list[Note] = []
    if header_unit(raw) is None and not source.options.units:
        square = stated_square(sheet.lines, sheet.texts)
        if square is not None:
            wanted = square.stated / square.drawn
            stated += [("the test square", unit) for unit in FACTORS if abs(FACTORS[unit] / wanted - 1.0) <= 0.01]
            by_square += [
                Note(
                    "units-assumed",
                    f"One unit is taken for {FACTORS[unit]:g} mm, since {square.why}; give --units if that is wrong.",
                )
                for _, unit in stated
            ]
    units = find_units(source, raw, stated, sheet.sizes)
    if units.factor != 1.0:
        sheet = _Sheet(source, raw, plan, units.factor)
    unread = unread_notes((entity for entity, place in plan.placed if not place.hidden), units.factor)
    notes = [*raw.notes, *by_square, *units.notes, *plan.notes, *unread, *sheet.notes()]
    lines = list(with_arrowheads(sheet.lines))
    square = labelled_square(lines, sheet.texts)
    if square is not None:
        lines[square.at] = replace(lines[square.at], role=Role.TEST_SQUARE, why=square.why)
    return Drawing(
        path=source.path,
        format="DXF",
        y_down=False,
        units=units.name,
        lines=tuple(lines),
        points=tuple(sheet.points),
        texts=tuple(sheet.texts),
        name=Path(source.path).stem,
        notes=tuple(notes),
        ledger=sheet.ledger(),
    )


@dataclass(frozen=True, slots=True)
class _Placed:
    """Where an entity is drawn: the map from its own coordinates, the names above it, and what it inherits."""

    affine: Affine
    groups: tuple[str, ...] = ()
    layer: str = "0"
    hidden: bool = False


class _Plan:
    """What is drawn how often: every entity with its placements, counted before any insert is followed."""

    def __init__(self, source: Source, raw: RawDrawing) -> None:
        self.source = source
        self.raw = raw
        self.notes: list[Note] = []
        self.placed: list[tuple[Entity, _Placed]] = []
        self.drawn: set[int] = set()  # entities that are drawn at least once, by identity
        self.missing: Counter[str] = Counter()
        self.unequal: set[str] = set()
        self.tilted: Counter[str] = Counter()
        model = [entity for entity in raw.entities if not entity.integer(67)]
        paper = [entity for entity in raw.entities if entity.integer(67) and entity.kind != "VIEWPORT"]
        if not any(entity.kind in LINE_KINDS or entity.kind == "INSERT" for entity in model) and paper:
            message = (
                "The model space is empty; what stands on a paper layout is read instead, at the layout's scale."
            )
            self.notes.append(Note("paper-space", message))
            model = paper
        else:
            self.notes += paper_notes(paper)
        self._count(model)
        self._place(model, _Placed(Affine.identity()))
        for name, count in sorted(self.missing.items()):
            times = f" {count} times" if count > 1 else ""
            message = f'"{name}" is inserted{times}, but the file holds no such block; a piece may be missing.'
            self.notes.append(Note("insert-without-block", message))
        if self.unequal:
            listed = ", ".join(f'"{name}"' for name in sorted(self.unequal))
            blocks = f"block {listed} is" if len(self.unequal) == 1 else f"blocks {listed} are"
            message = f"The {blocks} inserted with unequal scales across and along, and read as drawn."
            self.notes.append(Note("unequal-scale", message))

    def _count(self, entities: Sequence[Entity]) -> None:
        """Refuse a drawing whose inserts would grow beyond the limits, or draw themselves, before following any."""
        known: dict[str, tuple[int, int, int]] = {}
        largest: tuple[int, Place | str] = (0, "")
        limits, path = self.source.limits, self.source.path

        def amount(members: Sequence[Entity], above: tuple[str, ...]) -> tuple[int, int, int]:
            """How many entities and vertices are drawn, and how deep the blocks lie inside each other."""
            nonlocal largest
            drawn, vertices, depth = 0, 0, 0
            for entity in members:
                if entity.kind != "INSERT":
                    drawn += 1
                    vertices += entity.vertex_count()
                    continue
                block = self.raw.block(_block_name(entity))
                # Each copy costs a step, also one of a block with nothing in it.
                drawn += _cell_count(entity) + len(entity.parts)
                if block is None:
                    continue
                key = block.name.casefold()
                if key in above:
                    chain = " in ".join(f'"{name}"' for name in (key, *reversed(above[above.index(key) :])))
                    raise InputError(
                        f"a block is inserted in itself ({chain})",
                        path=path,
                        place=entity.place,
                        remedy="delete that insert in the drawing program",
                    )
                limits.check("depth", len(above) + 1, "blocks inside each other", path=path, place=entity.place)
                if key not in known:
                    known[key] = amount(block.entities, (*above, key))
                inner_drawn, inner_vertices, inner_depth = known[key]
                drawn += _cell_count(entity) * inner_drawn
                vertices += _cell_count(entity) * inner_vertices
                if not above:
                    largest = max(largest, (_cell_count(entity) * (1 + inner_drawn), entity.place), key=itemgetter(0))
                depth = max(depth, inner_depth + 1)
                limits.check("depth", len(above) + depth, "blocks inside each other", path=path, place=entity.place)
            return drawn, vertices, depth

        drawn, vertices, _ = amount(entities, ())
        at = largest[1]
        what = "entities and copies of blocks after following every insert"
        limits.check("expanded", drawn, what, path=path, place=at)
        limits.check("commands", vertices, "vertices after following every insert", path=path, place=at)

    def _place(self, entities: Sequence[Entity], place: _Placed) -> None:
        for entity in entities:
            self.drawn.add(id(entity))
            layer = place.layer if entity.layer == "0" and place.groups else entity.layer
            row = self.raw.layers.get(layer.casefold())
            here = replace(
                place,
                layer=layer,
                hidden=place.hidden or bool(entity.integer(60)) or (row is not None and row.hidden),
            )
            if entity.kind == "INSERT":
                self._follow(entity, here, place)
            else:
                self.placed.append((entity, here))

    def _follow(self, insert: Entity, here: _Placed, outside: _Placed) -> None:
        for part in insert.parts:
            self.drawn.add(id(part))
            self.placed.append((part, replace(here, affine=outside.affine)))
        name = _block_name(insert)
        block = self.raw.block(name)
        if block is None:
            self.missing[name] += 1
            return
        try:
            axis = axes(insert)
        except NotDrawableError:
            self.tilted[f"INSERT on layer {insert.layer}"] += 1
            return
        across, along = insert.number(41, 1.0), insert.number(42, 1.0)
        if abs(abs(across) - abs(along)) > 1e-9 * max(abs(across), abs(along)):
            self.unequal.add(block.name)
        inner = Affine.rotation(insert.number(50)) @ Affine.scaling(across, along) @ Affine.translation(-block.base)
        groups = here.groups if block.name.startswith("*") else (*here.groups, block.name)
        for cell in _cells(insert):
            affine = here.affine @ axis @ Affine.translation(insert.point() + cell) @ inner
            self._place(block.entities, replace(here, affine=affine, groups=groups))


def _block_name(insert: Entity) -> str:
    return insert.text(2).strip()


def _cell_count(insert: Entity) -> int:
    return max(insert.integer(70, 1), 1) * max(insert.integer(71, 1), 1)


def _cells(insert: Entity) -> list[complex]:
    """Where the copies of an arrayed insert stand, from its own point; rows and columns turn with it."""
    turn = Affine.rotation(insert.number(50))
    columns, rows = max(insert.integer(70, 1), 1), max(insert.integer(71, 1), 1)
    across, along = insert.number(44), insert.number(45)
    return [turn.apply(complex(column * across, row * along)) for row in range(rows) for column in range(columns)]


class _Sheet:
    """The marks of a drawing at a given number of mm per unit."""

    def __init__(self, source: Source, raw: RawDrawing, plan: _Plan, factor: float) -> None:
        self.source = source
        self.raw = raw
        self.plan = plan
        self.factor = factor
        self.lines: list[LineMark] = []
        self.points: list[PointMark] = []
        self.texts: list[TextMark] = []
        self.used: set[int] = set()
        self.aside: Counter[str] = Counter()
        self.faults: Counter[str] = Counter()
        self.told: Counter[str] = Counter()
        self.roles: dict[tuple[str, tuple[str, ...]], Verdict] = {}
        self.numbered = self._numbered_layers()
        scale = Affine.scaling(factor)
        for entity, place in plan.placed:
            self._mark(entity, replace(place, affine=scale @ place.affine))

    def _numbered_layers(self) -> bool:
        """Whether the layers are those of the apparel interchange, by number: an outline and at least one other."""
        names = {place.layer.strip() for entity, place in self.plan.placed if entity.kind in LINE_KINDS} - {"0"}
        names = {plain_layer(name) for name in names if role_in(name) is not Role.OLD}
        numbers = {layer_number(name) for name in names}
        return all(name.isdigit() for name in names) and None not in numbers and 1 in numbers and len(numbers) > 1

    def _mark(self, entity: Entity, place: _Placed) -> None:
        try:
            if entity.kind in LINE_KINDS or entity.kind == "LEADER":
                self._line(entity, place)
            elif entity.kind in TEXT_KINDS:
                self._text(entity, place)
            elif entity.kind == "POINT":
                self._point(entity, place)
        except NotDrawableError as error:
            if id(entity) not in self.used:
                self.faults[f"{entity.kind} on layer {place.layer} that {error}"] += 1

    def _line(self, entity: Entity, place: _Placed) -> None:
        affine = place.affine @ axes(entity)
        size = abs(affine.a) + abs(affine.b)
        if abs(abs(affine.a) - abs(affine.b)) <= _NOTHING * size or size <= 0:
            raise NotDrawableError("have no length")
        if entity.kind == "LEADER":
            points = [point * size for point in entity.points(10)]
            if len(set(points)) < 2:
                raise NotDrawableError("have no length")
            curve = Curve.polyline(points)
        else:
            curve = curve_of(entity, size)
        curve = curve.transformed(affine @ Affine.scaling(1.0 / size))
        refuse_far(self.source, curve, entity.place)
        role, why = self._role(place)
        source = LengthSource.DRAWN
        if entity.kind == "LEADER" and role is not Role.GRAIN:
            role, why = Role.FURNITURE, "a leader"
        if entity.kind == "POLYLINE" and entity.integer(70) & 4:
            source = LengthSource.CHORDS
            self.told["spline-fitted"] += 1
        if fit_points_only(entity):
            self.told["fit-points-only"] += 1
        self.lines.append(
            LineMark(
                curve=curve,
                closed=curve.is_closed,
                place=entity.place,
                role=role,
                why=why,
                layer=place.layer,
                groups=place.groups,
                hidden=place.hidden,
                dashed=self._dashed(entity, place),
                arrow=entity.kind == "LEADER",
                source=source,
                frame=place.affine,
            )
        )
        self.used.add(id(entity))

    def _dashed(self, entity: Entity, place: _Placed) -> bool:
        line_type = entity.text(6, "BYLAYER").strip().upper()
        row = self.raw.layers.get(place.layer.casefold())
        if line_type == "BYLAYER" and row is not None:
            line_type = row.line_type
        return line_type not in ("", "CONTINUOUS", "BYLAYER", "BYBLOCK")

    def _role(self, place: _Placed) -> Verdict:
        key = (place.layer, place.groups)
        if key not in self.roles:
            verdict = role_by_words(
                (plain_layer(place.layer),), place.groups, self.source.options.layers, kind="layer"
            )
            name = plain_layer(place.layer.strip())
            if verdict.role is None and (self.numbered or not any(letter.isdigit() for letter in name)):
                verdict = Verdict(line_role(layer_number(name)), f"layer {name}")
            self.roles[key] = verdict if verdict.role is not None else Verdict(None, "")
        return self.roles[key]

    def _text(self, entity: Entity, place: _Placed) -> None:
        if entity.kind == "ATTDEF" and not entity.integer(70) & 2:
            return  # a form to be filled in by the attributes of the inserts
        written = [line for line in entity.writing() if line]
        if not written:
            return
        aligned = entity.kind != "MTEXT" and (entity.integer(72) or entity.integer(73) or entity.integer(74))
        at = entity.point(11 if aligned and entity.has(11) else 10)
        self.texts.append(
            TextMark(
                at=(place.affine @ axes(entity)).apply(at),
                text="\n".join(written),
                place=entity.place,
                layer=place.layer,
                groups=place.groups,
                hidden=place.hidden or bool(entity.kind.startswith("ATT") and entity.integer(70) & 1),
            )
        )
        self.used.add(id(entity))

    def _point(self, entity: Entity, place: _Placed) -> None:
        at = place.affine.apply(entity.point())
        refuse_far(self.source, at, entity.place)
        role, why = self._role(place)
        self.points.append(
            PointMark(
                at=at,
                place=entity.place,
                role=role,
                why=why,
                layer=place.layer,
                groups=place.groups,
                hidden=place.hidden,
            )
        )
        self.used.add(id(entity))

    def sizes(self) -> list[float]:
        """The longer sides of what may be pieces: of the closed lines, else of the drawing as a whole."""
        seen = [line for line in self.lines if not line.hidden and line.role is not Role.FURNITURE] or self.lines
        boxes = [line.curve.bounds() for line in seen if line.closed]
        sides = [max(x1 - x0, y1 - y0) for x0, y0, x1, y1 in boxes]
        if sides:
            # Buttonholes and marks are closed too: the pieces are the large ones.
            return [side for side in sides if side >= 0.2 * max(sides)]
        if not seen:
            return []
        every = np.array([line.curve.bounds() for line in seen])
        return [float(max(every[:, 2].max() - every[:, 0].min(), every[:, 3].max() - every[:, 1].min()))]

    def notes(self) -> list[Note]:
        """What is to be said about the marks."""
        notes = []
        for fault, count in sorted((self.faults + self.plan.tilted).items()):
            notes.append(Note("left-out", f"{count} of {fault} were left out."))
        if count := self.told["spline-fitted"]:
            message = f"{count} polylines were rounded by the drawing program itself; they are walked on its chords."
            notes.append(Note("spline-fitted", message))
        if count := self.told["fit-points-only"]:
            message = f"{count} splines give only the points they run through; the curve between them is our own."
            notes.append(Note("fit-points-only", message))
        return notes

    def ledger(self) -> Ledger:
        """Every entity of the file, used or not and why."""
        aside: Counter[str] = Counter()
        left_out: set[tuple[str, str]] = set()
        total = 0
        drawn = self.plan.drawn
        for entity in self.raw.all_entities():
            total += 1
            if id(entity) in self.used:
                continue
            if entity.kind == "INSERT" and id(entity) in drawn and self.raw.block(_block_name(entity)):
                continue
            where = "" if id(entity) in drawn else (", on paper" if entity.integer(67) else ", not drawn")
            aside[f"{entity.kind} on layer {entity.layer}{where}"] += 1
            left_out.add((entity.kind, entity.layer))
        used = total - aside.total()
        return Ledger(read=total, used=used, aside=dict(sorted(aside.items())), left_out=frozenset(left_out))


IMPORTER = Importer("plain-dxf", "a DXF drawing", recognises, read)
