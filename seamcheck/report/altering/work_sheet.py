"""The work sheet of an alteration: its steps in order for paper, ruler and tape, each beside the piece with its cuts and marks."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from seamcheck.geometry.curve import Affine, Curve
from seamcheck.pattern.junction_layout import upright
from seamcheck.pattern.model import UNSIZED
from seamcheck.pattern.recipe import DartMove, Extend
from seamcheck.report.altering.marks import Mark, cuts_of, marks
from seamcheck.report.altering.picture import altered_subjects
from seamcheck.report.altering.step_words import lines, title
from seamcheck.report.cautions import OF_FITS
from seamcheck.report.figures.drawn import Line, keep_off, lines_to_cut
from seamcheck.report.figures.looks import Kind
from seamcheck.report.figures.marks import leaving
from seamcheck.report.lettering import Labels
from seamcheck.report.truing.pages import MARGIN, Page, PageWords, Writing
from seamcheck.report.truing.work_sheet import SIZE, Table, change_lines, steps, write_end, write_line, write_steps
from seamcheck.report.truing.write import Sheets
from seamcheck.truing.changes import changes

if TYPE_CHECKING:
    from seamcheck.altering.run import AlteredFile, AlteredSize, DoneStep
    from seamcheck.fits.fit import Fit
    from seamcheck.pattern.model import Piece

WIDE, HIGH = 52.0, 92.0  # mm: the drawing beside a step
BESIDE = 6.0  # mm between the words and the drawing
ROOM = 9.0  # mm round a piece for its letters
HINGE = 1.3  # mm: the ring round a hinge
LETTER = 3.4  # mm: heights of the letters of marks
SEEN = 0.15  # mm of paper: what a new line leaves the old one by to be drawn


def work_sheet(altered: AlteredFile, heading: str, paper: str) -> list[Page]:
    """The pages: of every size its steps, what is trued then, and what to measure at the end."""
    write = Writing(paper)
    write.say("Work sheet", 7.0, bold=True)
    write.say(heading)
    write.gap(2)
    write.say(
        "For the pattern as it was, on paper; cut a copy. Do the steps in their order: the old line is the line before the step. "
        "Distances run along the sew line; in is into the piece, out is out of it; left, right, up and down are as the piece is "
        "printed here. Letters are those of the drawing beside each step.",
        SIZE,
    )
    told = [size for size in altered.sizes if size.steps]
    for size in told:
        if size.size != UNSIZED and len(told) > 1:
            write.gap(3)
            write.say(f"Size {size.size}", 4.6, bold=True, keep=3)
        _size(write, altered, size)
    for caution in OF_FITS if altered.fits else ():
        write.gap(3)
        write.say(caution, SIZE)
    return write.pages


def sheets(altered: AlteredFile) -> Sheets:
    """What a print of an alteration holds: this sheet, and the pieces that changed with the cuts on them."""
    return Sheets(lambda heading, paper: work_sheet(altered, heading, paper), altered_subjects(altered))


def _size(write: Writing, altered: AlteredFile, size: AlteredSize) -> None:
    number, said = 1, ""
    for done in size.steps:
        fit = altered.fits.get(done.fit)
        _step(write, done, number, fit if fit and fit.name != said else None)
        number, said = number + 1, done.fit
    if size.truing is not None and size.truing.proposals:
        number = write_steps(write, steps(size.truing), number)
    trued = next(one for one in altered.trued.sizes if one.before.size == size.size)
    write_end(write, trued)


def _step(write: Writing, done: DoneStep, number: int, fit: Fit | None) -> None:
    turned = done.turned
    piece = done.before.pieces[done.step.piece]
    places = marks(done.step, piece, turned.cut if turned else None, turned.reliefs if turned else ())
    write.gap(3.5)
    if write.left < _high(piece):
        write.turn()
    page = write.page
    bottom = _drawing(page, complex(write.width - MARGIN - WIDE, write.y), done, places)
    beside = _Beside(write, page, bottom)
    with beside:
        write.say(title(done) + ".", SIZE + 0.2, bold=True, indent=7, mark=f"{number}.", keep=1)
    if fit is not None:
        with beside:
            write.say(f"{fit.title} ({fit.name}). {' '.join(fit.done)}", SIZE, indent=7)
    for told in (*lines(done, places), *_redrawn(done)):
        if isinstance(told, Table) and write.page is page:
            write.y = max(write.y, bottom)
        with beside:
            write_line(write, told)
    if write.page is page:
        write.y = max(write.y, bottom)


class _Beside:
    """Keeps words off a drawing as long as they stand beside it."""

    def __init__(self, write: Writing, page: Page, bottom: float) -> None:
        self.write, self.page, self.bottom = write, page, bottom

    def __enter__(self) -> None:
        there = self.write.page is self.page and self.write.y < self.bottom
        self.write.kept = WIDE + BESIDE if there else 0.0

    def __exit__(self, *_: object) -> None:
        self.write.kept = 0.0


def _redrawn(done: DoneStep) -> Iterator[str | Table]:
    """What to measure for the lines that are drawn anew once the cut is taped, or instead of one."""
    turns = done.turned is not None or (isinstance(done.step, DartMove) and done.step.into is not None)
    old, new = (done.laid if turns else done.before), done.after
    redrawn = list(changes(old, new))
    if redrawn and done.turned is not None:
        back = ", and give back what it took" if done.given else ""
        yield f"Then draw anew what the cut has bent{back}; the old line is the one just taped."
    for change in redrawn:
        if isinstance(done.step, Extend):  # whose own sentence says where the corner goes
            change = replace(change, corners=())
        yield from change_lines(old.pieces, new.pieces, change)


def _drawing(page: Page, at: complex, done: DoneStep, places: tuple[Mark, ...]) -> float:
    """The piece before the step, with its cuts and lettered marks, and the new line where one is drawn; how far down it reaches."""
    piece, after = (state.pieces[done.step.piece] for state in (done.before, done.after))
    up = upright(piece)
    x0, y0, _, _ = piece.drawn.transformed(up).bounds()
    scale = _scale(piece)
    corner = complex(x0, y0)
    move = Affine.translation(at + ROOM * (1 + 1j)) @ Affine.scaling(scale) @ Affine.translation(-corner) @ up
    drawn = [line.transformed(move) for line in lines_to_cut(piece, 1.0 / scale)]
    cuts = [
        Line(cut.transformed(move), Kind.NOTCH if cut.is_closed else Kind.SLASH)
        for cut in cuts_of(done, HINGE / scale)
    ]
    ought = () if done.turned is not None else leaving([after.outline], piece.outline, SEEN / scale)
    new = [Line(part.transformed(move), Kind.OUGHT) for part in ought]
    page.lines += [*drawn, *cuts, *new]
    labels = Labels()
    keep_off(labels, [*drawn, *cuts, *new])
    middle = complex(move.apply(complex(piece.outline.polygon(1.0).mean())))
    for mark in places:
        spot = complex(move.apply(mark.at))
        label = labels.led(spot, mark.letter, spot - middle)
        page.words.append(PageWords(label.at + 0.35j * LETTER, mark.letter, LETTER, bold=True))
        if label.leader is not None:
            page.lines.append(Line(Curve.line(*label.leader), Kind.FINE))
    return at.imag + _high(piece)


def _scale(piece: Piece) -> float:
    """How many mm of paper a mm of cloth is in the drawing beside a step."""
    x0, y0, x1, y1 = piece.drawn.bounds()
    return min((WIDE - 2 * ROOM) / (x1 - x0), (HIGH - 2 * ROOM) / (y1 - y0))


def _high(piece: Piece) -> float:
    """The height of that drawing, with the room round it."""
    _, y0, _, y1 = piece.drawn.bounds()
    return 2 * ROOM + _scale(piece) * (y1 - y0)
