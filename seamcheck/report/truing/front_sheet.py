"""The first page of a print: how to print it, what to measure, which sheets there are and what is on them."""

from __future__ import annotations

from dataclasses import dataclass

from seamcheck import amounts
from seamcheck.amounts import count
from seamcheck.geometry.curve import Affine, Curve
from seamcheck.pattern.model import UNSIZED, Piece
from seamcheck.pattern.plan import Plan
from seamcheck.report.figures.drawn import Line
from seamcheck.report.figures.looks import Kind, Tone
from seamcheck.report.lettering import Labels
from seamcheck.report.truing.pages import LEADING, MARGIN, Page, PageWords, Writing, fitted
from seamcheck.report.truing.picture import IMPERIAL, METRIC, Subject, legend, square
from seamcheck.report.truing.tiles import Print
from seamcheck.report.truing.widths import width_of

BETWEEN = 12.0  # mm
HIGHEST_CELL = 34.0  # mm of a tile in the map
LEAST_CELL = 9.0  # mm: what is smaller is not found again, and the map has a page of its own
LEAST_MAP = 60.0  # mm that are kept for the map
CORNERS = ((0.0, 0.0), (0.0, 1.0), (1.0, 0.0), (1.0, 1.0), (0.5, 0.5), (0.0, 0.5), (0.5, 0.0), (0.5, 1.0), (1.0, 0.5))
ROW = 3.2  # mm: height of the letters in lists


@dataclass(frozen=True, slots=True)
class Heading:
    """What a print is of: the pattern, its file, the day on which that was saved ("" where nobody knows), and the scale."""

    pattern: str
    file: str
    day: str
    scale: float

    @property
    def true(self) -> bool:
        """Whether it is at true scale."""
        return abs(self.scale - 1.0) < 1e-9


def front_sheet(made: Print, heading: Heading, plan: Plan, before: int) -> list[Page]:
    """The page, and one for the map where the sheets are many; `before` is how many pages in all stand before the sheets."""
    write = Writing(made.paper)
    sizes = list(dict.fromkeys(one.after.size for one in _subjects(made)))
    write.say(heading.pattern, 7.0, bold=True)
    told = [f"size {', '.join(sizes)}"] if sizes != [UNSIZED] else []
    told += [f"file {heading.file}"] + ([f"saved on {heading.day}"] if heading.day else [])
    write.say(", ".join(told))
    total = len(made.tiles) + before
    paper = made.paper.upper() if made.paper == "a4" else made.paper
    write.say(f"{count(total, 'page')} on {paper} paper, {count(len(made.tiles), 'sheet')} of them to be joined.")
    write.gap(3)
    if heading.true:
        _squares(write, made)
    else:
        write.say(f"Drawn at {heading.scale:g} of its true size: to look at, not to cut by.", 4.6, bold=True)
    write.gap(3)
    write.say(
        "Cut each sheet along its dotted line on the right and below. Lay it over the sheets that it names there, so "
        "that crosses and diamonds meet, and tape them. A side with no diamond joins nothing.",
        ROW,
    )
    write.gap(2)
    _lines(write, made)
    write.gap(3)
    _pieces(write, made, plan)
    write.gap(4)
    _map(write, made)
    return write.pages


def _subjects(made: Print) -> list[Subject]:
    return [one for block in made.blocks for one in block.subjects]


def _squares(write: Writing, made: Print) -> None:
    write.say("Print at 100 % (actual size), not fitted to the page.", 4.6, bold=True)
    write.gap(2)
    x, y = MARGIN + 1.0, write.y
    second = x + METRIC + BETWEEN
    words = second + IMPERIAL + 6.0
    for left, side, told, more in (
        (x, METRIC, "50 mm", "on each side"),
        (second, IMPERIAL, "2 in", "on each side"),
    ):
        write.page.lines.append(Line(square(complex(left, y), side), Kind.FINE))
        middle = complex(left + side / 2, y + side / 2)
        write.page.words.append(PageWords(middle, told, 6.0, bold=True))
        write.page.words.append(PageWords(middle + 5j, more, ROW))
    beside = Writing(made.paper)
    beside.y = y
    room = write.width - words
    beside.say("Measure a square with a ruler, both ways.", ROW, bold=True, indent=words - MARGIN)
    beside.say(
        "If it is off by more than 0.5 mm (1/64 in), the printer has scaled the page: print again.",
        ROW,
        indent=words - MARGIN,
    )
    check = _longest_arrow(made)
    if check is not None and room > 20:
        beside.gap(1)
        beside.say("Measure again when the sheets are joined.", ROW, bold=True, indent=words - MARGIN)
        beside.say(check, ROW, indent=words - MARGIN)
    write.page.words += beside.pages[0].words
    write.y = max(y + IMPERIAL, beside.y)


def _longest_arrow(made: Print) -> str | None:
    """The longest grain arrow, which is straight and runs over several sheets."""
    arrows = [(round(grain.length, 1), one.title) for one in _subjects(made) for grain in one.piece.grainlines]
    if not arrows:
        return None
    length, title = max(arrows, key=lambda arrow: arrow[0])
    return f"The grain arrow of {title} is {amounts.length(length)} long, tip to tip."


def _lines(write: Writing, made: Print) -> None:
    x = MARGIN + 1.0
    write.y += ROW
    for kind, what in legend([one.drawn for one in made.blocks]):
        words = PageWords(complex(x + 18, write.y), what, ROW, left=True)
        if x + 18 + words.width > write.width - MARGIN:
            x, write.y = MARGIN + 1.0, write.y + ROW * LEADING * 1.2
            words = PageWords(complex(x + 18, write.y), what, ROW, left=True)
        at = complex(x, write.y - 0.35 * ROW)
        write.page.lines.append(Line(Curve.line(at, at + 15), kind))
        write.page.words.append(words)
        x += 18 + words.width + 8
    write.y += 1.5


def _pieces(write: Writing, made: Print, plan: Plan) -> None:
    """The pieces with their sheets, in two columns where they are many; as many as leave room for the map."""
    rows = []
    for number, block in enumerate(made.blocks):
        names = [tile.name for tile in made.tiles if tile.block == number]
        sheets = f"sheet {names[0]}" if len(names) == 1 else f"{len(names)} sheets, {names[0]} to {names[-1]}"
        for one in block.subjects:
            changed = ", drawn anew" if one.change is not None else ""
            rows.append(f"{one.title}: {cut_words(one.piece, plan)}{changed}; {sheets}")
    columns = 1 if len(rows) <= 8 else 2
    high = ROW * LEADING
    fit = max(1, int((write.left - LEAST_MAP) / high)) * columns
    if len(rows) > fit:
        rest = len(rows) - fit + 1
        rows = [*rows[: fit - 1], f"and {rest} more: every sheet names its piece"]
    each = -(-len(rows) // columns)
    wide = (write.width - 2 * MARGIN) / columns
    for k, row in enumerate(rows):
        column, line = divmod(k, each)
        at = complex(MARGIN + column * wide, write.y + ROW + line * high)
        write.page.words.append(PageWords(at, fitted(row, wide - 4, ROW), ROW, left=True))
    write.y += each * high
    if any(one.piece.line != "cut" for one in _subjects(made)):
        write.gap(1)
        write.say(
            "A heavy line is the sew line: add the seam allowance, unless a piece says cut line.", ROW, bold=True
        )


def cut_words(piece: Piece, plan: Plan) -> str:
    """How often a piece is cut: as the plan says, or where that says nothing, as the piece itself."""
    planned = next((one for one in plan.pieces if one.name == piece.name), None)
    cut = planned.cut if planned is not None else "one"
    if cut == "pair":
        return "cut 2, mirrored"
    if cut == "fold":
        return "cut 1 on the fold"
    if cut == "one":
        return f"cut {piece.labels.get('quantity', '1')}"
    return f"cut {cut}"


def line_words(piece: Piece) -> str:
    """Which line the heavy one is."""
    if piece.line == "cut":
        return "cut line"
    return "sew line, add allowance" if piece.line == "sew" else "add allowance if none is in it"


def _map(write: Writing, made: Print) -> None:
    """Where the sheets lie, with the pieces on them."""
    columns = max(tile.column for tile in made.tiles) + 1
    rows = max(tile.row for tile in made.tiles) + 1
    step = made.step

    def scaled() -> float:
        room = write.width - 2 * MARGIN, write.left
        return min(room[0] / (columns * step[0]), room[1] / (rows * step[1]), HIGHEST_CELL / step[1])

    if scaled() * step[0] < LEAST_CELL:
        write.turn()
    scale = scaled()
    wide, high = step[0] * scale, step[1] * scale
    origin = complex(MARGIN, write.y)
    for one in made.blocks:
        move = Affine.translation(origin + complex(one.column * wide, one.row * high)) @ Affine.scaling(scale, scale)
        write.page.lines += [
            Line(Curve.polyline(line.curve.transformed(move).polygon(0.05)), Kind.INNER)
            for line in one.drawn.lines
            if line.kind is Kind.EDGE and line.curve.is_closed
        ]
    labels, size = Labels(), min(4.0, 0.3 * high, 0.3 * wide)
    for line in write.page.lines:
        labels.avoid(line.curve.polygon(0.05))
    for tile in made.tiles:
        at = origin + complex(tile.column * wide, tile.row * high)
        ring = [at, at + wide, at + complex(wide, high), at + 1j * high, at]
        write.page.lines.append(Line(Curve.polyline(ring), Kind.FINE))
        # Its name in that corner, or else the middle, in which least is drawn.
        room = complex(width_of(tile.name) + 0.4, 1.2) * size
        middles = [at + room / 2 + complex(x * (wide - room.real), y * (high - room.imag)) for y, x in CORNERS]
        place, _ = labels.first_free([(middle, 1 + 0j) for middle in middles], room.real, room.imag)
        write.page.words.append(PageWords(place + 0.35j * size, tile.name, size, tone=Tone.FAINT))
