"""From drafts of pieces to marks, and what is to be said about them, once for each kind of thing."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from itertools import islice

import numpy as np

from seamcheck.geometry.exact_arrays import least_at
from seamcheck.pattern.drawing import Block, LengthSource, LineMark, Note, PointMark, Role, TextMark
from seamcheck.pattern.words import role_by_words, role_in
from seamcheck.reading.base import Source
from seamcheck.reading.dxf.apparel_blocks import (
    BOUNDARY,
    DRILL,
    INTERNAL,
    MARKED_LINES,
    MIRROR,
    NOTCHES,
    SEW,
    VALIDATION,
    BlockDraft,
    DraftPoint,
    line_role,
)
from seamcheck.reading.dxf.apparel_lines import CLOSING_GAP, TINY_EDGE, DraftLine, LineReading, read_lines
from seamcheck.reading.dxf.curves import SMALLEST_EDGE, NotDrawableError
from seamcheck.reading.dxf.units import refuse_far

SNAP = CLOSING_GAP  # mm; an internal line that ends this near to a vertex of the outline ends on it
MISSED = 0.5  # mm; from SNAP to here it was meant to, and is reported
ON_FOLD = 0.01  # mm; how near the fold line must come to the vertices of its edge
NOTCH_DEPTHS = (1.0, 20.0)  # mm; common practice, no source
LARGEST_SLANT = 60.0  # degrees that a notch can lean from straight into the piece


class Marks:
    """Collects the marks of drafts."""

    def __init__(self, source: Source) -> None:
        """Start with none; `source` is the file that errors name."""
        self.source = source
        self.lines: list[LineMark] = []
        self.points: list[PointMark] = []
        self.texts: list[TextMark] = []
        self.blocks: list[Block] = []
        self._said: list[Note] = []
        self._pieces: dict[str, list[str]] = {}  # code -> pieces it was seen on
        self._faults: Counter[str] = Counter()
        self._layers: Counter[str] = Counter()

    def add(self, drafts: Sequence[BlockDraft], *, rounding: str = "") -> None:
        """Add the marks of pieces, each in one size; `rounding` is given for sizes made by a rule table, in mm."""
        asked: list[tuple[DraftLine, list[DraftLine]]] = []
        for draft in drafts:
            self._said_before_lines(draft)
            self._snap_internal_lines(draft, draft.boundary)
            # A validation curve holds for the size it was drawn in (ASTM D6673, 4.3.1.6).
            validation = [] if rounding else [line for line in draft.lines if line.layer in VALIDATION]
            asked += [
                (line, [one for one in validation if VALIDATION[one.layer or 0] == line.layer])
                for line in draft.lines
                if line.layer not in VALIDATION
            ]
        read = zip(asked, read_lines(asked), strict=True)
        for draft in drafts:
            name = f"{draft.block.name}, size {draft.size}" if rounding else draft.block.name
            labels = dict(draft.labels)
            if rounding:
                labels |= {"graded": "by rule", "rounding": rounding, "size": draft.size}
            self.blocks.append(
                Block(name=name, piece=draft.piece, size=draft.size, labels=labels, place=draft.block.place)
            )
            outline = draft.boundary
            has_sew_line = any(line.layer == SEW for line in draft.lines)
            own = sum(line.layer not in VALIDATION for line in draft.lines)
            for (line, validation), reading in islice(read, own):
                if isinstance(reading, NotDrawableError):
                    self._faults[f"{line.entity.kind} on layer {line.entity.layer} that {reading}"] += 1
                else:
                    self._line(draft, name, line, outline, reading, validated=bool(validation), sew_line=has_sew_line)
            for point in draft.points:
                self._point(draft, name, point, outline)
            for entity, at, text in draft.texts:
                self.texts.append(TextMark(at=at, text=text, place=entity.place, layer=entity.layer, block=name))
            if outline is not None:
                self._check_fold(draft, outline)

    def _note(self, code: str, draft: BlockDraft) -> None:
        pieces = self._pieces.setdefault(code, [])
        called = f'"{draft.piece}"' + (f" size {draft.size}" if draft.size else "")
        if called not in pieces:
            pieces.append(called)

    def _said_before_lines(self, draft: BlockDraft) -> None:
        self._faults.update(draft.faults)
        self._layers.update(draft.unknown_layers)
        if draft.in_parts:
            self._note("outline-in-parts", draft)
        for line in draft.lines:
            if line.layer not in MARKED_LINES:
                continue
            edges = line.edges()
            if (edges <= SMALLEST_EDGE).any():
                self._note("vertices-doubled", draft)
            if ((edges > SMALLEST_EDGE) & (edges < TINY_EDGE)).any():
                self._note("tiny-edge", draft)
            if line.closed and SMALLEST_EDGE < line.gap <= CLOSING_GAP:
                self._note("outline-gap", draft)
            if line.smoothed:
                self._note("spline-fitted", draft)

    def _line(
        self,
        draft: BlockDraft,
        block: str,
        line: DraftLine,
        outline: DraftLine | None,
        reading: LineReading,
        *,
        validated: bool,
        sew_line: bool,
    ) -> None:
        refuse_far(self.source, reading.curve, line.entity.place)
        if validated and reading.source is not LengthSource.VALIDATION and line.layer == BOUNDARY:
            self._note("validation-curve-unused", draft)
        role, why = line_role(line.layer), self._why(line.entity.layer)
        if line.layer is None:
            role, why = role_by_words((line.entity.layer,), (), self.source.options.layers, kind="layer")
        elif line.layer == BOUNDARY:
            role = self._boundary_role(draft, line, outline, sew_line)
        self.lines.append(
            LineMark(
                curve=reading.curve,
                closed=line.closed,
                place=line.entity.place,
                role=role,
                why=why,
                layer=line.entity.layer,
                label="not mirrored" if line.not_mirrored else "",
                block=block,
                turn_points=reading.turn_points,
                source=reading.source,
                chords=reading.chords,
            )
        )

    def _why(self, layer: str) -> str:
        """What a layer tells the role of a mark by: its number, or the shop's settings."""
        verdict = role_by_words((layer,), (), self.source.options.layers, kind="layer")
        return verdict.why if "settings" in verdict.why else f"layer {layer}"

    def _boundary_role(
        self, draft: BlockDraft, line: DraftLine, outline: DraftLine | None, has_sew_line: bool
    ) -> Role:
        if line is not outline and line.closed and outline is not None and outline.closed:
            self._note("outline-within", draft)
            return Role.CUTOUT
        if role_in(draft.piece) is Role.TEST_SQUARE and len(line.points) == 4:
            return Role.TEST_SQUARE
        shop = role_by_words((line.entity.layer,), (), self.source.options.layers)
        if shop.role in (Role.SEW, Role.CUT) and "settings" in shop.why:
            return shop.role
        return Role.CUT if has_sew_line else Role.OUTLINE

    def _point(self, draft: BlockDraft, block: str, point: DraftPoint, outline: DraftLine | None) -> None:
        entity = point.entity
        refuse_far(self.source, point.at, entity.place)
        if point.layer in NOTCHES:
            depth = abs(entity.number(30)) * draft.factor
            width = abs(entity.number(39)) * draft.factor
            angle = entity.number(50) if entity.has(50) else None
            if (depth and not NOTCH_DEPTHS[0] <= depth <= NOTCH_DEPTHS[1]) or _slants(point, angle, draft, outline):
                self._note("notch-attribute-implausible", draft)
                depth, angle = 0.0, None
            mark = PointMark(
                at=point.at,
                place=entity.place,
                role=Role.NOTCH,
                depth=depth or None,
                width=width or None,
                angle=angle,
            )
        elif point.layer is None:
            role, why = role_by_words((entity.layer,), (), self.source.options.layers, kind="layer")
            mark = PointMark(at=point.at, place=entity.place, role=role, why=why)
        else:
            role = Role.DRILL if point.layer == DRILL else line_role(point.layer)
            mark = PointMark(at=point.at, place=entity.place, role=role)
        why = mark.why or self._why(entity.layer)
        self.points.append(replace(mark, why=why, layer=entity.layer, block=block))

    def _snap_internal_lines(self, draft: BlockDraft, outline: DraftLine | None) -> None:
        """Let internal lines end exactly on the vertex of the outline that they belong to."""
        if outline is None or not outline.points:
            return
        vertices = np.asarray(outline.points)
        for line in draft.lines:
            if line.layer != INTERNAL or line.closed or line.exact is not None:
                continue
            for end in (0, len(line.points) - 1):
                distances = np.abs(vertices - line.points[end])
                nearest = least_at(distances)
                if 0 < distances[nearest] <= SNAP:
                    line.points[end] = complex(vertices[nearest])
                if 0.01 < distances[nearest] <= MISSED:
                    self._note("internal-line-gap", draft)

    def _check_fold(self, draft: BlockDraft, outline: DraftLine) -> None:
        """A half piece is drawn up to its fold: the mirror line lies on an edge of the outline."""
        vertices = np.asarray(outline.points)
        for line in draft.lines:
            if line.layer == MIRROR and any(np.abs(vertices - end).min() > ON_FOLD for end in line.points):
                self._note("mirror-line-off-outline", draft)

    def notes(self) -> list[Note]:
        """What is to be said about the pieces added, in a stable order."""
        notes = [
            Note(code, f"{', '.join(pieces[:6])}{' and others' if len(pieces) > 6 else ''}: {_SENTENCES[code]}")
            for code, pieces in sorted(self._pieces.items())
        ]
        notes += self._said
        for layer in sorted(self._layers):
            message = (
                f'The layer "{layer}" has no meaning in the standard; what it holds is told by its name or its shape.'
            )
            notes.append(Note("layer-unknown", message))
        for fault, count in sorted(self._faults.items()):
            notes.append(Note("left-out", f"{count} of {fault} were left out."))
        return notes


_SENTENCES = {
    "outline-in-parts": "the outline is drawn in several parts that meet end to end; they are joined to one.",
    "outline-within": "there is more than one closed line on layer 1; the largest is the outline, the others are cutouts.",
    "outline-gap": "the outline closes but for a gap of at most 0.05 mm; it is read as closed.",
    "vertices-doubled": "some vertices stand twice on one point; each pair is taken as one.",
    "tiny-edge": "there are edges shorter than 0.1 mm, probably slips; they are kept.",
    "spline-fitted": "the line was rounded by the drawing program itself; it is walked on the chords that it wrote.",
    "validation-curve-unused": "the validation curve does not pass through all points of the outline; it is not used.",
    "notch-attribute-implausible": (
        "depth or direction of some notches cannot be right (another unit, or along the seam); only their place is used."
    ),
    "internal-line-gap": "an internal line ends a little beside the point of the outline that it should meet.",
    "mirror-line-off-outline": (
        "the mirror line does not lie on an edge of the outline, so that the piece cannot be unfolded; draw the line "
        "from corner to corner of the half piece."
    ),
}


def _box(points: Sequence[complex]) -> tuple[float, float, float, float]:
    array = np.asarray(points)
    return (
        float(array.real.min()),
        float(array.imag.min()),
        float(array.real.max()),
        float(array.imag.max()),
    )


def _slants(point: DraftPoint, angle: float | None, draft: BlockDraft, outline: DraftLine | None) -> bool:
    """Whether a notch on the outline is said to run along the seam or out of the piece."""
    if angle is None or outline is None or point.vertex is None or not outline.closed:
        return False
    line, vertex = point.vertex
    if draft.lines[line] is not outline:
        return False
    points = outline.points
    along = points[(vertex + 1) % len(points)] - points[vertex - 1]
    if along == 0:
        return False
    inward = along * (1j if outline.area() > 0 else -1j)
    lean = np.degrees(np.angle(np.exp(1j * np.radians(angle)) / inward))
    return bool(abs(lean) > LARGEST_SLANT)
