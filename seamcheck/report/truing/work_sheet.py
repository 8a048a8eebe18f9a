"""The work sheet: the steps of a truing in order, with what to measure on the paper pattern for each."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from seamcheck import amounts
from seamcheck.engine.result import Finding
from seamcheck.geometry.curve import Curve
from seamcheck.pattern.model import UNSIZED, Grainline, Piece
from seamcheck.report.figures.drawn import Line
from seamcheck.report.figures.looks import Kind
from seamcheck.report.truing.pages import LEADING, MARGIN, Page, PageWords, Writing
from seamcheck.report.truing.ruler import SEEN, STAYS, STRAIGHT_ON, CornerMark, RunMarks, corner_mark, run_marks
from seamcheck.truing.changes import NOTCH_MOVED, MovedNotch, TruedPiece, changes
from seamcheck.truing.propose import Truing

SIZE, SMALL = 3.4, 3.0  # mm: heights of the letters
FAINT = 0.01  # mm


@dataclass(frozen=True, slots=True)
class Table:
    """Marks side by side, under what they are: along the old line and square to it."""

    head: str
    marks: tuple[tuple[str, ...], ...]  # of each: along in mm and in inches, square in mm and in inches
    foot: str = "Draw the new line smoothly through the marks."


@dataclass(frozen=True, slots=True)
class Step:
    """One correction: what it is, why, and what to do for it."""

    what: str
    why: str
    lines: tuple[str | Table, ...]


def steps(truing: Truing) -> Iterator[Step]:
    """The corrections of one size as steps."""
    state = truing.before
    for proposal in truing.proposals:
        taken = proposal.alternatives[proposal.taken]
        lines = [
            line
            for change in changes(state, taken.state)
            for line in change_lines(state.pieces, taken.state.pieces, change)
        ]
        yield Step(taken.what[:1].upper() + taken.what[1:] + ".", proposal.finding.message, tuple(lines))
        state = taken.state


def change_lines(old: dict[str, Piece], new: dict[str, Piece], change: TruedPiece) -> Iterator[str | Table]:
    """What to measure on a piece as it was to draw it as it is now: corners, lines, notches, the arrow."""
    was, now = old[change.piece], new[change.piece]
    for corner in change.corners:
        if abs(corner.after - corner.before) > STAYS:
            mark = corner_mark(was, corner)
            if mark is not None:
                yield _corner(change.piece, mark)
    for edge in change.edges:
        runs = list(run_marks(was, now, edge.name))
        yield from (_run(change.piece, run) for run in runs)
        if not runs and edge.stray.most > FAINT:
            how = (
                "less than a pencil shows; smooth it by eye there"
                if edge.stray.most <= SEEN
                else "past the end of that; draw it smoothly into the new corner"
            )
            most = amounts.length(edge.stray.most)
            yield f"{change.piece}.{edge.name}: the new line lies {most} beside the old one at most, {how}."
        yield f"{change.piece}.{edge.name} is then {_fine(edge.lengths[1])} long along the line."
    for notch in change.notches:
        if notch.moved > NOTCH_MOVED:
            yield _notch(was, now, change.piece, notch)
    if change.grain is not None:
        yield from _grain(was, now, change.piece)


def _corner(piece: str, mark: CornerMark) -> str:
    way = "past" if mark.beyond >= 0 else "back from"
    line = f"with {mark.edge} led on straight" if mark.beyond >= 0 else f"along {mark.edge}"
    told = f"{piece}: mark the new {mark.corner} {amounts.length(abs(mark.beyond))} {way} the old one, {line}"
    if abs(mark.inward) > STRAIGHT_ON:
        told += f", and from there {amounts.length(abs(mark.inward))} square to it, {_side(mark.inward)} the piece"
    return told + "."


def _run(piece: str, run: RunMarks) -> Table:
    marks = []
    for mark in run.marks:
        along = f"{mark.along:.0f} mm", amounts.inches(mark.along)
        if abs(mark.inward) < STRAIGHT_ON:
            marks.append((*along, "on the line", ""))
        else:
            way = "in" if mark.inward > 0 else "out"
            marks.append((*along, f"{amounts.millimetres(abs(mark.inward))} {way}", amounts.inches(mark.inward)))
    head = f"{piece}.{run.edge}: measure along the old line from {run.corner}, and mark square to it."
    return Table(head, tuple(marks))


def _side(inward: float) -> str:
    return "into" if inward > 0 else "out of"


def _notch(old: Piece, new: Piece, piece: str, notch: MovedNotch) -> str:
    """Where a notch goes, from the end of its edge that stayed, else from the nearer one."""
    edge = new.edge(notch.edge)
    was = old.edge(notch.edge)
    stayed = [abs(was.runs[0].start - edge.runs[0].start) < STAYS, abs(was.runs[-1].end - edge.runs[-1].end) < STAYS]
    station = notch.stations[1]
    from_start = stayed[0] if stayed[0] != stayed[1] else station <= edge.length / 2
    far, corner = (station, edge.start) if from_start else (edge.length - station, edge.end)
    return (
        f"{piece}.{notch.edge}: mark the notch {amounts.length(far)} from {corner} along the new line, "
        f"{amounts.length(notch.moved)} from the old one, and cross out the old one."
    )


def _grain(old: Piece, new: Piece, piece: str) -> Iterator[str]:
    for was, now in zip(old.grainlines, new.grainlines, strict=False):
        if was != now:
            head, tail = (_shift(old, was, now, k) for k in (-1, 0))
            yield f"{piece}: rule the grain arrow anew. Its head {head}; its other end {tail}."


def _shift(piece: Piece, was: Grainline, now: Grainline, end: int) -> str:
    """How far an end of an arrow went, with the piece as it is drawn."""
    off = now.points[end] - was.points[end]
    if abs(off) <= STAYS:
        return "stays"
    up = -off.imag if piece.y_down else off.imag
    parts = [
        f"{amounts.length(abs(by))} {words[by > 0]}"
        for by, words in ((off.real, ("to the left", "to the right")), (up, ("down", "up")))
        if abs(by) > STAYS
    ]
    return f"goes {' and '.join(parts)}"


def _fine(mm: float) -> str:
    return f"{mm:.1f} mm ({amounts.inches(mm)})"


def _checks(truing: Truing) -> Iterator[str]:
    """The seams along what was drawn anew, with the lengths that both sides have then."""
    drawn = {(c.piece, e.name) for c in changes(truing.before, truing.after) for e in c.edges}
    for walk in truing.after.walks:
        first, second = walk.seam.first, walk.seam.second
        if walk.seam.twin or not any((u.piece, u.edge) in drawn for u in (*first.uses, *second.uses)):
            continue
        yield f"{first.words} {_fine(first.length)}, {second.words} {_fine(second.length)}"


ROWS = ("along", "", "square", "")


def _table(write: Writing, table: Table) -> None:
    write.say(table.head, SIZE, indent=11, mark="-", keep=6)
    left = MARGIN + 11.0
    columns = len(table.marks) + 1
    wide = min((write.width - MARGIN - write.kept - left) / columns, 24.0)
    high = SMALL * LEADING
    top = write.y + 1.0
    for row, name in enumerate(ROWS):
        base = top + row * high + SMALL + (1.0 if row > 1 else 0.0)
        cells = [name, *(mark[row] for mark in table.marks)]
        for column, cell in enumerate(cells):
            at = complex(left + column * wide, base)
            write.page.words.append(PageWords(at, cell, SMALL, bold=row % 2 == 0, left=True))
    rule = complex(left, top + 2 * high + 0.8)
    write.page.lines.append(Line(Curve.line(rule, rule + columns * wide), Kind.FINE))
    write.y = top + 4 * high + 1.0
    write.say(table.foot, SIZE, indent=11)


def _left(truing: Truing) -> list[Finding]:
    return [finding for finding in truing.left.findings if finding.counts]


def write_steps(write: Writing, told: Iterable[Step], first: int) -> int:
    """Write steps, numbered from one on; the number of the next."""
    for step in told:
        write.gap(2.5)
        write.say(step.what, SIZE + 0.2, bold=True, indent=7, mark=f"{first}.", keep=1)
        write.say(step.why, SIZE, indent=7)
        for line in step.lines:
            write_line(write, line)
        first += 1
    return first


def write_line(write: Writing, line: str | Table) -> None:
    """Write what is to be measured or drawn for a step."""
    write.gap(0.6)
    if isinstance(line, Table):
        _table(write, line)
    else:
        write.say(line, SIZE, indent=11, mark="-")


def write_end(write: Writing, truing: Truing) -> None:
    """Write what to measure when all is drawn, and what is left."""
    checks = list(_checks(truing))
    if checks:
        write.gap(2.5)
        write.say("Then measure along the sew lines, walking each side on the other:", SIZE + 0.2, bold=True, keep=1)
        for line in checks:
            write.say(line, SIZE, indent=11, mark="-")
    left = _left(truing)
    if left:
        write.gap(2.5)
        write.say("Left, for these no line is redrawn here:", SIZE + 0.2, bold=True, keep=1)
        for finding in left:
            write.say(finding.message, SIZE, indent=11, mark="-")


def work_sheet(sizes: Sequence[Truing], heading: str, paper: str) -> list[Page]:
    """The steps of all sizes, and what to measure when they are done; one page, and further ones where it is full."""
    write = Writing(paper)
    write.say("Work sheet", 7.0, bold=True)
    write.say(heading)
    write.gap(2)
    write.say(
        "For the pattern as it was, on paper. Do the steps in their order; the old line is the line before the step. "
        "Distances run along it; in is into the piece, out is out of it; left, right, up and down are as the piece is "
        "printed here.",
        SIZE,
    )
    told = [one for one in sizes if one.proposals or _left(one)]
    if not told:
        write.gap(2)
        write.say("There is nothing to draw anew.", SIZE)
    for truing in told:
        size = truing.before.size
        if size != UNSIZED and len(sizes) > 1:
            write.gap(3)
            write.say(f"Size {size}", 4.6, bold=True, keep=3)
        write_steps(write, steps(truing), 1)
        write_end(write, truing)
    return write.pages
