"""From marks to shapes: closed lines are put together, told apart, and given what lies on and in them.

shape   a closed outline with its marks, before any plan has named anything
group   the marks of one block, or of the whole drawing where the file has no blocks
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from seamcheck.config.limits import Limits
from seamcheck.exact import most
from seamcheck.geometry.curve import Curve
from seamcheck.geometry.intersections import overlapping
from seamcheck.geometry.loops import close_loops, open_chains
from seamcheck.geometry.sparse import CoarseEnd
from seamcheck.pattern.drawing import (
    Block,
    Drawing,
    Ledger,
    LengthSource,
    LineMark,
    Mark,
    Note,
    PointMark,
    Role,
    ScaleReading,
    TextMark,
    drawn_marks,
)
from seamcheck.pattern.model import UNSIZED, Grainline, InsideLine, OpenOutline, TakenFor, Unused
from seamcheck.pattern.names import (
    common_texts,
    is_name,
    is_of_a_sheet,
    labels_from_texts,
    may_name,
    name_from_texts,
    own_name,
)
from seamcheck.pattern.scale import labelled_square, scale_notes, scale_readings
from seamcheck.pattern.words import piece_name
from seamcheck.pieces.block_arrows import without_block_arrows
from seamcheck.pieces.corners import detect_corners
from seamcheck.pieces.markings import Markings, ShapeNotch, counted, read_markings
from seamcheck.pieces.nesting import (
    OUTLINE_ROLES,
    SMALLEST_PIECE,
    Boxes,
    ClosedLine,
    Inner,
    closed_line,
    nest,
    nest_in_block,
)
from seamcheck.pieces.notes import ledger_of, outline_notes
from seamcheck.pieces.open_sew_line import open_sew_lines
from seamcheck.pieces.overruns import trimmed_outlines
from seamcheck.pieces.owners import Owned, box_of, holds, owners
from seamcheck.pieces.recognition import recognised
from seamcheck.pieces.sample_size import with_corners_of_the_sample
from seamcheck.pieces.slips import slip_notes, tolerances_for, without_slips
from seamcheck.pieces.sparse_curves import with_splines
from seamcheck.pieces.taping import taped
from seamcheck.pieces.unused import unused
from seamcheck.pieces.whole_sheet import (
    Group,
    Made,
    fold_notes,
    guess_notes,
    settle_names,
    settle_notches,
    settle_size,
)
from seamcheck.places import NOWHERE, Place

FEW = 100  # segments of a line that are not counted against one another, since it would cost no time
NEARLY_CLOSED = 25.0  # mm: a long line whose ends come this near was meant to close
_OF_PIECES = (Role.GRAIN, Role.NOTCH, Role.DRILL, Role.DART)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """A closed outline, clockwise as the file is seen and started at the corner nearest the top left.

    `outline` is the line to walk as far as the file tells (the sew line where it draws one), `other` the second
    line of the same piece if there is one. `smoothed` is the line in the file of which `outline` is a smoother reading.
    `reasons` say what made the marks what they were taken for.
    """

    name: str
    size: str
    line: str
    outline: Curve
    corners: tuple[float, ...]
    y_down: bool
    turn_points: tuple[complex, ...] = ()  # the corners that the file marks, in its own order
    other: Curve | None = None
    notches: tuple[ShapeNotch, ...] = ()
    stray_notches: tuple[complex, ...] = ()
    grainlines: tuple[Grainline, ...] = ()
    folds: tuple[Curve, ...] = ()
    inside: tuple[InsideLine, ...] = ()
    drill_holes: tuple[complex, ...] = ()
    labels: Mapping[str, str] = field(default_factory=dict)
    texts: tuple[str, ...] = ()
    source: LengthSource = LengthSource.DRAWN
    smoothed: LineMark | None = None
    coarse: tuple[CoarseEnd, ...] = ()  # the ends of curves that are drawn with few vertices
    gap: float = 0.0
    reasons: tuple[TakenFor, ...] = ()
    place: Place = NOWHERE
    fold_places: tuple[Place, ...] = field(default=(), compare=False)  # of `folds`
    hole_places: tuple[Place, ...] = field(default=(), compare=False)  # of `drill_holes`
    members: tuple[LineMark, ...] = field(default=(), compare=False)  # the lines that make up `outline`
    other_members: tuple[LineMark, ...] = field(default=(), compare=False)  # and those that make up `other`
    marks: tuple[Mark, ...] = field(default=(), compare=False)  # what lies on and in it

    @property
    def internals(self) -> tuple[Curve, ...]:
        """The lines drawn within the outline, whatever they are for."""
        return tuple(line.curve for line in self.inside)


@dataclass(frozen=True, slots=True)
class Sheet:
    """All shapes of a drawing, the outlines that do not close, the sizes in order, and what should be said.

    `ledger` is the drawing's, with the entities that went into no shape moved aside; `unused` are their lines, worst first.
    """

    shapes: tuple[Shape, ...]
    open_outlines: tuple[OpenOutline, ...]
    sizes: tuple[str, ...]
    notes: tuple[Note, ...]
    scale: tuple[ScaleReading, ...] = ()
    ledger: Ledger = field(default_factory=Ledger)
    unused: tuple[Unused, ...] = ()


def assemble(drawing: Drawing, limits: Limits | None = None) -> Sheet:
    """Find the shapes of a drawing; InputError where they, or the corners of one, are more than `limits` allow."""
    limits = limits or Limits()
    limits.check("pieces", len(drawing.blocks), "pieces", path=drawing.path)
    drawing = with_corners_of_the_sample(drawing)
    whole = Group()
    for block, lines, points, texts in _groups(drawing):
        group = _assemble_group(drawing, block, lines, points, texts, limits, whole.overlaps)
        whole.overlaps = group.overlaps
        whole.made += group.made
        whole.opened += group.opened
        whole.notes += group.notes
        whole.used |= group.used
        whole.aside += group.aside
        whole.squares += group.squares
    settle_size(whole)
    settle_names(whole.made)
    settle_notches(whole.made, drawing.sample_size)
    notes = [*whole.notes, *guess_notes(whole), *fold_notes(whole.made)]
    hidden = sum(line.hidden for line in drawing.lines)
    if hidden and all(note.code != "hidden" for note in drawing.notes):
        notes.append(Note("hidden", f"{hidden} hidden lines were read and left out of the checks."))
    shapes = tuple(made.shape for made in whole.made)
    with_squares = replace(drawing, lines=(*drawing.lines, *(one.mark for one in whole.squares)))
    squares = {id(member) for one in whole.squares for member in one.members}
    scale = scale_readings(with_squares, _sides(drawing, shapes))
    notes += scale_notes(scale)
    sizes = tuple(dict.fromkeys(shape.size for shape in shapes))
    return Sheet(
        shapes,
        tuple(whole.opened),
        sizes,
        tuple(notes),
        tuple(scale),
        ledger_of(drawing, whole.used, [*whole.aside, *((one, Role.TEST_SQUARE.value) for one in whole.squares)]),
        unused(drawing, whole.used | squares, whole.aside, [(made.shape.name, made.line) for made in whole.made]),
    )


def _overlaps(lines: Sequence[ClosedLine], most: int) -> int:
    """How many pairs of segments of the same closed line lie over one another: what a scribble costs, wherever its crossings are sought."""
    found = 0
    for line in lines:
        if len(line.curve.segments) > FEW and found <= most:
            found += overlapping(line.curve.segments, most - found)
    return found


def _sides(drawing: Drawing, shapes: Sequence[Shape]) -> list[float]:
    """The longer sides of the pieces in mm; of the outlines that the file names, where all are too small to be pieces."""
    curves = [shape.other or shape.outline for shape in shapes] or [
        line.curve
        for line in drawing.lines
        if line.closed and not line.hidden and (line.role in OUTLINE_ROLES or piece_name(line.label))
    ]
    return [max(x1 - x0, y1 - y0) for x0, y0, x1, y1 in (curve.bounds() for curve in curves)]


def _groups(
    drawing: Drawing,
) -> Iterable[tuple[Block | None, list[LineMark], list[PointMark], list[TextMark]]]:
    """The marks of every block, and those that stand in none."""
    lines: dict[str | None, list[LineMark]] = {}
    points: dict[str | None, list[PointMark]] = {}
    texts: dict[str | None, list[TextMark]] = {}
    for line in drawing.lines:
        lines.setdefault(line.block, []).append(line)
    for point in drawing.points:
        points.setdefault(point.block, []).append(point)
    for text in drawing.texts:
        texts.setdefault(text.block, []).append(text)
    blocks: Sequence[Block | None] = drawing.blocks or (None,)
    for block in blocks:
        name = block.name if block else None
        yield block, lines.get(name, []), points.get(name, []), texts.get(name, [])


def _assemble_group(
    drawing: Drawing,
    block: Block | None,
    lines: Sequence[LineMark],
    points: Sequence[PointMark],
    texts: Sequence[TextMark],
    limits: Limits,
    overlaps: int,
) -> Group:
    group = Group()
    drawn = [line for line in lines if not line.hidden and line.role is not Role.OLD]
    limits.check("strokes", len(drawn), "lines", path=drawing.path)
    points = [point for point in points if not point.hidden and point.role is not Role.OLD]
    texts = [text for text in texts if not text.hidden]
    candidates, loose = _closed_lines(drawn, block, group)
    signs: list[tuple[ClosedLine, str]] = []
    if block is None:
        candidates = taped(candidates, texts)
        _find_words(candidates, texts)
        candidates, loose, signs = without_block_arrows(candidates, loose)
        _find_marks(candidates, loose, points)
        group.squares = _find_squares(candidates, texts)
    group.overlaps = overlaps + _overlaps(candidates, limits.overlaps - overlaps)
    limits.check("overlaps", group.overlaps, "pairs of segments that lie over one another", path=drawing.path)
    # Counted before it is asked of each which of the others it lies in; a piece may have a cut line and a sew line.
    large = [line for line in candidates if line.area >= SMALLEST_PIECE]
    if len(large) > 2 * limits.pieces:
        limits.check("pieces", len(large), "closed lines as large as a piece", path=drawing.path)
    boxes = Boxes(large)
    within = sum(len(boxes.held_by(line.bounds)) - 1 for line in large)
    limits.check("nested", within, "closed lines in the boxes of others", path=drawing.path)
    nested = nest(candidates) if block is None else nest_in_block(candidates)
    limits.check("pieces", len(nested.pieces), "pieces", path=drawing.path)
    group.aside = nested.aside + signs
    group.notes += outline_notes(nested, block)
    inside: dict[int, Inner] = {}
    placed: list[tuple[int, LineMark]] = []
    numbers = {id(piece): number for number, piece in enumerate(nested.pieces)}
    for inner in nested.inside:
        whole = inner.line.mark
        if len(inner.line.members) > 1:
            whole = replace(whole, curve=inner.line.curve, closed=True, strokes=inner.line.members)
        inside[id(whole)] = inner
        if inner.piece is None:
            loose.append(whole)
        else:
            placed.append((numbers[id(inner.piece)], whole))
    owned = owners(nested.pieces, loose, points, texts)
    for number, whole in placed:
        owned[number].lines.append(whole)
    for piece, mine in zip(nested.pieces, owned, strict=True):
        marks = len(mine.lines) + len(mine.points) + len(mine.texts)
        limits.check("marks", marks, "marks of one piece", path=drawing.path, place=piece.mark.place)
    written = [labels_from_texts(text.text for text in mine.texts)[0].get("size", "") for mine in owned]
    common = {
        size: common_texts([mine.texts for mine, its in zip(owned, written, strict=True) if its == size])
        for size in dict.fromkeys(written)
    }
    in_group = Counter(
        piece.mark.groups[:depth] for piece in nested.pieces for depth in range(len(piece.mark.groups) + 1)
    )
    naming = may_name([mine.placed_texts for mine in owned], written)
    names = [
        _name(piece, block, texts, common[size], alone=in_group[piece.mark.groups] == 1)
        for piece, texts, size in zip(nested.pieces, naming, written, strict=True)
    ]
    if block is None:
        group.notes += with_splines(_sizes(nested.pieces, [name for name, _, _ in names], written))
    for piece, mine, name in zip(nested.pieces, owned, names, strict=True):
        made, used = _make(drawing, block, piece, mine, inside, name)
        limits.check(
            "corners", len(made.shape.corners), "corners of one piece", path=drawing.path, place=made.shape.place
        )
        group.made.append(made)
        group.used |= {id(part) for mark in used for part in drawn_marks(mark)}
    return group


def _sizes(pieces: Sequence[ClosedLine], names: Sequence[str], written: Sequence[str]) -> list[list[ClosedLine]]:
    """The pieces, those together that are one piece in several sizes."""
    alike: dict[tuple[str, str], list[ClosedLine]] = {}
    for number, (piece, name, size) in enumerate(zip(pieces, names, written, strict=True)):
        alike.setdefault((name.casefold(), "") if name and size else ("", str(number)), []).append(piece)
    return list(alike.values())


# Closed, open and loose lines


def _closed_lines(
    lines: Sequence[LineMark], block: Block | None, group: Group
) -> tuple[list[ClosedLine], list[LineMark]]:
    """Sort lines into closed ones and loose ones; those that were meant to close and do not go to the group."""
    candidates: list[ClosedLine] = []
    loose: list[LineMark] = []
    chainable: dict[Role | None, list[LineMark]] = {}
    for line in lines:
        if line.closed and line.curve.is_closed:
            if line.role is None or line.role in OUTLINE_ROLES | {Role.INTERNAL, Role.CUTOUT, Role.TEST_SQUARE}:
                candidates.append(closed_line(line.curve, line, (line,), (), len(candidates)))
            else:
                loose.append(line)
        elif line.role is None or line.role in OUTLINE_ROLES | {Role.TEST_SQUARE}:
            chainable.setdefault(line.role, []).append(line)
        else:
            loose.append(line)
    beside: list[tuple[Curve, tuple[LineMark, ...]]] = []
    for role, marks in chainable.items():
        marks, slips = without_slips(marks)
        group.used |= {id(slip) for slip in slips}
        group.notes += slip_notes(slips)
        loops, left = close_loops([mark.curve for mark in marks], tolerances_for(marks))
        for loop in loops:
            members = tuple(marks[i] for i in loop.members)
            candidates.append(closed_line(loop.curve, _leader(members), members, loop.gaps, len(candidates)))
        rest: list[tuple[Curve, tuple[LineMark, ...]]] = []
        chained: set[int] = set()
        for chain in open_chains([mark.curve for mark in marks], left):
            chained.update(chain.members)
            members = tuple(marks[i] for i in chain.members)
            if role is Role.SEW or (role is None and not block and all(member.dashed for member in members)):
                beside.append((chain.curve, members))
            else:
                rest.append((chain.curve, members))
        outlines, trimmed, notes = trimmed_outlines(rest, len(candidates))
        candidates += outlines
        group.notes += notes
        for number, (curve, members) in enumerate(rest):
            if number not in trimmed:
                _sort_open(curve, members, block, group, loose)
        # Lines that lie on one another close nothing and lead nowhere: each is what it is by itself.
        loose += [marks[i] for i in left if i not in chained]
        loose += [mark for mark in marks if mark.curve.length == 0.0]
    sew_lines, taken, notes = open_sew_lines(beside, candidates)
    candidates += sew_lines
    group.notes += notes
    for number, (curve, members) in enumerate(beside):
        if number not in taken:
            _sort_open(curve, members, block, group, loose)
    return candidates, loose


def _sort_open(
    curve: Curve, members: Sequence[LineMark], block: Block | None, group: Group, loose: list[LineMark]
) -> None:
    """Tell an open outline, which goes to the group, from loose lines."""
    if _meant_to_close(curve, members[0].role):
        group.opened.append(_open_outline(curve, _leader(members), block))
        group.used |= {id(member) for member in members}
    else:
        loose += members


def _meant_to_close(curve: Curve, role: Role | None) -> bool:
    area = abs(curve.signed_area())
    nearly = curve.chord <= min(NEARLY_CLOSED, 0.1 * curve.length) and area > 25 * SMALLEST_PIECE
    return area > SMALLEST_PIECE and role is not Role.TEST_SQUARE and (role in OUTLINE_ROLES or nearly)


def _open_outline(curve: Curve, leader: LineMark, block: Block | None) -> OpenOutline:
    name = block.piece if block else own_name(leader)[0]
    return OpenOutline(
        name=name or str(leader.place),
        size=(block.size if block else "") or UNSIZED,
        ends=(curve.start, curve.end),
        gap=curve.chord,
        place=leader.place,
    )


def _leader(members: Sequence[LineMark]) -> LineMark:
    """The mark that speaks for a chain: the first with a label, else the longest."""
    labelled = [member for member in members if member.label]
    return labelled[0] if labelled else most(members, key=lambda member: member.curve.length)


def _find_words(candidates: Sequence[ClosedLine], texts: Sequence[TextMark]) -> None:
    """Mark the closed lines that have a name: their own label, their group's, or words written directly inside."""
    by_size = sorted(candidates, key=lambda c: round(c.area, 6))
    largest: dict[tuple[str, ...], ClosedLine] = {}
    for one in by_size:
        one.named = bool(piece_name(one.mark.label))
        if any(piece_name(group) for group in one.mark.groups):
            largest[one.mark.groups] = one
    for one in largest.values():
        one.named = True
    boxes = Boxes(by_size)
    for text in texts:
        names, numbers = is_name(text.text), is_of_a_sheet(text.text)
        if names or numbers:
            near = (by_size[k] for k in boxes.holding(box_of(text.at)))
            holder = next((one for one in near if holds(one, text.at)), None)
            if holder is not None:
                holder.named |= names
                holder.titled |= numbers


def _find_marks(candidates: Sequence[ClosedLine], loose: Sequence[LineMark], points: Sequence[PointMark]) -> None:
    """Mark the closed lines that a grainline, a notch or a drill hole lies directly inside of, as only in pieces."""
    by_size = sorted(candidates, key=lambda c: round(c.area, 6))
    boxes = Boxes(by_size)
    places = [line.curve.point(line.curve.length / 2) for line in loose if line.role in _OF_PIECES or line.arrow]
    for at in (*places, *(point.at for point in points if point.role in _OF_PIECES)):
        holder = next((one for k in boxes.holding(box_of(at)) if holds(one := by_size[k], at)), None)
        if holder is not None:
            holder.marked = True


def _find_squares(candidates: Sequence[ClosedLine], texts: Sequence[TextMark]) -> list[ClosedLine]:
    """Take every test square that is drawn of loose lines for what the words in it say; its mark is then the whole line."""
    found = []
    for one in candidates:
        if len(one.members) > 1 and one.mark.role in (None, Role.TEST_SQUARE):
            whole = replace(one.mark, curve=one.curve, closed=True)
            square = labelled_square([whole], texts)
            if square is not None:
                one.mark = replace(whole, role=Role.TEST_SQUARE, why=square.why)
                found.append(one)
    return found


# From a closed line to a shape


def _smoothed(piece: ClosedLine) -> LineMark | None:
    """The line in the file of which the line of a piece is a smoother reading."""
    if piece.chords is not None:
        return replace(piece.mark, curve=piece.chords, source=LengthSource.DRAWN)
    return piece.mark if piece.mark.is_smoothed and len(piece.members) == 1 else None


def _make(
    drawing: Drawing,
    block: Block | None,
    piece: ClosedLine,
    mine: Owned,
    inside: Mapping[int, Inner],
    named: tuple[str, str, str],
) -> tuple[Made, list[Mark]]:
    """The shape of a piece, and the marks that went into it; `named` is what `_name` tells of it."""
    curve, corners = _started(piece, drawing.y_down)
    cut = piece.twin.curve if piece.twin else None
    lines = mine.lines if block else recognised(curve, cut, corners, mine.lines, mine.texts)
    found = read_markings(curve, lines, mine.points, inside, cut)
    written = tuple(text.text.strip() for text in mine.texts if text.text.strip())
    labels, told_by = labels_from_texts(written)
    if block is not None:
        if labels.get("size") != block.size:
            told_by.pop("size", None)
        labels = {**labels, **block.labels}
    name, named_by, longer = named
    reasons = [*_outline_reasons(piece), *found.reasons]
    reasons += [TakenFor("name", named_by)] if named_by else []
    reasons += [TakenFor(label, why) for label, why in told_by.items()]
    reasons += [TakenFor("size", "computed from rules")] if block is not None and "graded" in block.labels else []
    size = (block.size if block else labels.get("size", "")) or UNSIZED
    shape = Shape(
        name=name,
        size=size,
        line="sew"
        if piece.twin
        else {Role.SEW: "sew", Role.CUT: "cut"}.get(piece.mark.role or Role.OUTLINE, "unknown"),
        outline=curve,
        corners=corners,
        y_down=drawing.y_down,
        turn_points=piece.mark.turn_points or (),
        other=piece.twin.curve if piece.twin else None,
        other_members=piece.twin.members if piece.twin else (),
        notches=found.notches,
        stray_notches=found.stray_notches,
        grainlines=found.grainlines,
        folds=found.folds,
        inside=found.inside,
        drill_holes=found.drill_holes,
        labels=labels,
        texts=written,
        source=LengthSource.SPLINE if piece.chords else piece.mark.source,
        smoothed=_smoothed(piece),
        coarse=piece.coarse,
        gap=max((gap for gap, _ in piece.gaps), default=0.0),
        reasons=counted(reasons),
        place=piece.mark.place,
        fold_places=found.fold_places,
        hole_places=found.hole_places,
        members=piece.members,
        marks=found.used,
    )
    used: list[Mark] = [*piece.members, *found.used, *mine.texts]
    if piece.twin is not None:
        used += piece.twin.members
    return Made(shape, piece, longer, _guesses(found, inside), piece.apart if piece.guessed else 0.0), used


def _guesses(found: Markings, inside: Mapping[int, Inner]) -> Counter[str]:
    inner = (inside[id(mark)] for mark in found.used if id(mark) in inside)
    return Counter("perhaps sew line" if one.perhaps_sewn else one.what for one in inner if one.guessed)


def _started(piece: ClosedLine, y_down: bool) -> tuple[Curve, tuple[float, ...]]:
    """The outline clockwise as seen, from the corner nearest the top left, and the stations of its corners."""
    clockwise = (piece.curve.signed_area() > 0) == y_down
    curve = piece.curve if clockwise else piece.curve.reversed()
    marked = _marked_corners(curve, piece)
    corners = detect_corners(curve) if marked is None else marked
    if not corners:
        return curve, ()
    x0, y0, _, y1 = curve.bounds()
    top_left = complex(x0, y0 if y_down else y1)
    first = min(corners, key=lambda s: (round(abs(curve.point(s) - top_left), 6), s))
    curve = curve.with_start(first)
    total = curve.length
    # A corner within a hair of the start is the start; a wrapped 1e-12 would make an edge of nothing.
    stations = {0.0 if min(t, total - t) < 1e-6 else t for t in ((s - first) % total for s in corners)}
    return curve, tuple(sorted(stations))


def _marked_corners(curve: Curve, piece: ClosedLine) -> tuple[float, ...] | None:
    """Stations of the corners that the file marks; None when it marks none."""
    if piece.mark.turn_points is None or len(piece.members) != 1:
        return None
    stations = []
    for point in piece.mark.turn_points:
        near = curve.nearest(point)
        if near.distance <= 0.1:
            stations.append(near.station % curve.length)
    merged: list[float] = []
    for station in sorted(stations):
        if not merged or station - merged[-1] > 1e-3:
            merged.append(station)
    return tuple(merged)


def _name(
    piece: ClosedLine,
    block: Block | None,
    texts: Sequence[tuple[TextMark, bool]],
    common: Sequence[str],
    *,
    alone: bool,
) -> tuple[str, str, str]:
    """What the file calls a piece, what gave it, and a longer name: its block, its label, its group, its words."""
    if block is not None:
        said = (text.text for text, _ in texts if text.text.strip().casefold().endswith(block.piece.casefold()))
        text = next(said, "")
        return block.piece, f'text "{" ".join(text.split())}"' if text else f'block "{block.name}"', ""
    name, why = own_name(piece.mark, alone=alone)
    if name and piece.mark.label_is_id and why.startswith("label"):
        # Where somebody wrote a name in the piece, that is its name, and not what the program tells the line by.
        inside = [(text, True) for text, within in texts if within and is_name(text.text)]
        written = name_from_texts(inside, common)
        says_it = any(name.casefold() in text.text.casefold() for text, _ in inside)
        return written if written[0] and not says_it else (name, why, "")
    return (name, why, "") if name else name_from_texts(texts, common)


def _outline_reasons(piece: ClosedLine) -> list[TakenFor]:
    mark = piece.mark
    said = [TakenFor("piece", mark.why or "a closed line round more than 4 square centimetres")]
    if len(piece.members) > 1:
        said.append(TakenFor("outline", f"{len(piece.members)} loose lines that close"))
    if piece.twin is not None:
        said.append(TakenFor("sew line", piece.why))
        said.append(TakenFor("cut line", piece.twin.mark.why or "the outer of the two"))
    return said
