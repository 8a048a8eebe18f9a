"""The picture of a proposal: pieces with the names of their corners and edges, every seam marked on both its sides.

One SVG file, drawn to a round scale on a sheet of paper, with a legend, the questions with their reasons, and a list of
all seams. It holds no script and loads nothing.
"""

from __future__ import annotations

import cmath
import math
import re
import textwrap
from collections.abc import Mapping, Sequence
from pathlib import PurePath
from typing import TYPE_CHECKING

from seamcheck import amounts
from seamcheck.amounts import count
from seamcheck.pairing.text import MOST_LIKELY, OPEN
from seamcheck.pattern.model import UNSIZED
from seamcheck.report.figures.looks import Kind, rule
from seamcheck.report.layout import printable
from seamcheck.report.lettering import EM
from seamcheck.report.pairing.marks import ARROW, HUES, band, leader, mark, plate
from seamcheck.report.pairing.sheet import DrawnPiece, Label, PairingSheet, lay_out, uses_of
from seamcheck.report.pen import number, polyline, words

if TYPE_CHECKING:
    from seamcheck.pairing.proposal import Proposal, ProposedSeam
    from seamcheck.pattern.plan import Cut, EdgeUse

MARGIN = 10.0  # mm of paper
LIST_TEXT = 2.9
LINE = 4.2  # from line to line of a list
COLUMN = 88.0
INDENT = 8.0

_LINES = {
    ".outline": Kind.OUTLINE,
    ".line": Kind.EDGE,
    **{f".{kind} .line": kind for kind in (Kind.UNSEWN, Kind.FOLD, Kind.OPEN)},
    **{f".{kind}": kind for kind in (Kind.CUT, Kind.INNER, Kind.GRAIN, Kind.NOTCH, Kind.FINE)},
}
DRAWING_STYLE = (
    "\n".join(rule(selector, kind) for selector, kind in _LINES.items())
    + """
text{font-family:"Helvetica Neue",Helvetica,Arial,"Liberation Sans",sans-serif;fill:var(--ink,#1c2126)}
.piece text{text-anchor:middle}
.outline{fill:var(--cloth,#fbfaf6);stroke-linejoin:round}
.corner{fill:var(--ink,#1c2126)}
.piece .quiet{fill:var(--quiet,#5b636b)}
.title{font-weight:600}
.band{fill:none;stroke:var(--hue);stroke-width:1.3}
.band.question{stroke-width:.7}
.plate path{fill:var(--paper,#fff);stroke:var(--hue);stroke-width:.55}
.plate.filled path{fill:var(--hue)}
.plate.question path{stroke-dasharray:1.1 .7}
.plate text{text-anchor:middle;font-weight:700;fill:var(--hue)}
.plate.filled text{fill:var(--paper,#fff)}
.arrow{fill:var(--hue);stroke:var(--paper,#fff);stroke-width:.25}
.leader{fill:none;stroke:var(--hue);stroke-width:.4}
"""
)

_SHEET_STYLE = """
.paper{fill:#fff}.frame{fill:none;stroke:#9aa1a8;stroke-width:.3}
.head{font-weight:600}.quiet{fill:#5b636b}
""".strip()


def pairing_svg(proposal: Proposal) -> str:
    """The whole picture as the text of an SVG file, in mm of paper; the same proposal gives the same bytes."""
    sheet = lay_out(proposal)
    width = sheet.width + 2 * MARGIN
    head = _head(proposal, sheet)
    drawing = drawing_of(sheet) + seam_layer(sheet, proposal.seams)
    top = 22.0 + MARGIN
    legend_at = top + sheet.height + 4.0
    legend, below = _legend(legend_at, sheet.width)
    lists, foot = _lists(proposal, sheet, below)
    height = foot + MARGIN
    return (
        "\n".join(
            [
                '<?xml version="1.0" encoding="UTF-8"?>',
                f'<svg xmlns="http://www.w3.org/2000/svg" width="{number(width)}mm" height="{number(height)}mm" '
                f'viewBox="0 0 {number(width)} {number(height)}" role="img" aria-labelledby="title about">',
                f'<title id="title">{words(heading(proposal))}</title>',
                f'<desc id="about">{words(_about(proposal, sheet))}</desc>',
                f"<style>{_plain(DRAWING_STYLE)}\n{_SHEET_STYLE}</style>",
                f'<rect class="paper" width="{number(width)}" height="{number(height)}"/>',
                head,
                f'<g transform="translate({number(MARGIN)} {number(top)})">\n{drawing}</g>',
                legend,
                *lists,
                "</svg>",
            ]
        )
        + "\n"
    )


def _plain(style: str) -> str:
    """The style for viewers that know no variables; what has a seam's hue says so itself."""
    style = re.sub(r"(?:fill|stroke):var\(--hue\);?", "", style)
    return re.sub(r"var\(--[a-z-]+,([^)]*)\)", r"\1", style)


def drawing_of(sheet: PairingSheet, *, for_choosing: bool = False) -> str:
    """All pieces, without their seams; with `for_choosing` every edge is an option that can be clicked and focused."""
    return "".join(_piece(piece, for_choosing) for piece in sheet.pieces)


def _piece(piece: DrawnPiece, for_choosing: bool) -> str:
    group = f' role="group" aria-label="{words(piece.name)}"' if for_choosing else ""
    hidden = ' aria-hidden="true"' if for_choosing else ""
    parts = [f'<g class="piece"{group}>', f'<path class="outline" d="{piece.outline}"{hidden}/>']
    parts += [f'<path class="{kind}" d="{d}"{hidden}/>' for kind, d in piece.lines]
    parts.append(label(piece.title, "title", hidden))
    parts.append(label(piece.cut, "quiet", hidden))
    for edge in piece.edges:
        option = (
            f' role="option" aria-selected="false" tabindex="-1" data-edge="{words(edge.key)}"'
            if for_choosing
            else ""
        )
        hit = f'<path class="hit" d="{edge.bands[0]}"/>' if for_choosing else ""
        parts.append(
            f'<g class="edge {edge.role}"{option}>{hit}<path class="line" d="{edge.bands[0]}"/>'
            f"{label(edge.label, 'name', hidden)}</g>"
        )
    for at, name in piece.corners:
        parts.append(f'<circle class="corner" cx="{number(at.real)}" cy="{number(at.imag)}" r=".55"{hidden}/>')
        parts.append(label(name, "quiet corner-name", hidden))
    return "\n".join([*parts, "</g>"]) + "\n"


def label(one: Label, kind: str, more: str = "") -> str:
    """A name as an SVG text with its middle at its point, and the line that leads to it."""
    down = 1j * cmath.rect(one.size * 0.35, math.radians(one.angle))
    at = one.at + down
    turned = f" rotate({number(one.angle)})" if number(one.angle) != "0" else ""
    led = "" if one.leader is None else f'<path class="fine" d="{polyline(one.leader)}"{more}/>'
    return (
        f'{led}<text class="{kind}" font-size="{number(one.size)}" '
        f'transform="translate({number(at.real)} {number(at.imag)}){turned}"{more}>{words(one.text)}</text>'
    )


def seam_layer(sheet: PairingSheet, seams: Sequence[ProposedSeam]) -> str:
    """Bands and plates of all seams, the plates on top."""
    bands, marks = [], []
    uses = uses_of(seams)
    for edge in sheet.edges():
        here = uses.get(edge.key, [])
        layers = list(dict.fromkeys(entry[0] for entry in here))
        for layer, index in enumerate(layers):
            bands.append(band(index, edge, layer, question=_asked(seams[index])))
        if not here:
            continue
        times, places = edge.places(len(here))
        for turn, place in enumerate(places[: times * len(here)]):
            index, side, use = here[turn % len(here)]
            seam = seams[index]
            bands.append(leader(index, place))
            marks.append(
                f'<g data-seam="{index + 1}" data-side="{side + 1}" data-edge="{words(edge.key)}">'
                f"{mark(index, place, question=_asked(seam), backwards=use.backwards)}</g>"
            )
    return f'<g class="bands">{"".join(bands)}</g>\n<g class="marks">\n' + "\n".join(marks) + "\n</g>\n"


def _asked(seam: ProposedSeam) -> bool:
    return seam.standing in OPEN


def heading(proposal: Proposal) -> str:
    """What the picture is called."""
    return f"{proposal.pattern.name or PurePath(proposal.pattern.path).stem}: seams to confirm"


def drawn_as(sheet: PairingSheet) -> str:
    """What is drawn: pieces, size and scale."""
    size = f", size {sheet.size}" if sheet.size not in ("", UNSIZED) else ""
    return f"{count(len(sheet.pieces), 'piece')}{size}; scale 1 : {number(sheet.scale)}"


def _about(proposal: Proposal, sheet: PairingSheet) -> str:
    asked = sum(_asked(seam) for seam in proposal.seams)
    told = [count(len(proposal.seams) - asked, "seam")]
    if asked:
        told.append(count(asked, "question"))
    if proposal.open_edges:
        told.append(f"{count(len(proposal.open_edges), 'edge')} in no seam")
    return f"{', '.join(told)}; {drawn_as(sheet)}"


def _head(proposal: Proposal, sheet: PairingSheet) -> str:
    right = sheet.width + MARGIN
    bar = _bar(sheet.scale)
    return (
        f'<text class="head" x="{number(MARGIN)}" y="{number(MARGIN + 6)}" font-size="6">{words(heading(proposal))}</text>'
        f'<text class="quiet" x="{number(MARGIN)}" y="{number(MARGIN + 12)}" font-size="3.2">{words(_about(proposal, sheet))}</text>'
        f'<g transform="translate({number(right - bar / sheet.scale)} {number(MARGIN + 6)})">'
        f'<path class="line" d="M0-2V0H{number(bar / sheet.scale)}V-2"/>'
        f'<text font-size="3" y="4.4">{number(bar)} mm of cloth</text></g>'
        f'<path class="frame" d="M{number(MARGIN)} {number(MARGIN + 16)}H{number(right)}"/>'
    )


def _bar(scale: float) -> float:
    """A round length of cloth that is 20 to 50 mm on paper."""
    length = 1.0
    while length / scale < 20.0:
        length *= 10.0 if length * 10 / scale <= 50.0 else 5.0 if length * 5 / scale <= 50.0 else 2.0
    return length


def _legend(top: float, width: float) -> tuple[str, float]:
    """What the marks mean, and how far down it reaches."""
    samples = [
        (plate(0, question=False), "the two sides of a seam bear one number", 6.0),
        (plate(1, question=True), "a question: not judged yet", 6.0),
        (f'<path class="arrow" style="fill:{HUES[0]}" d="{ARROW}" transform="translate(-2 0)"/>',
         "walked this way; the ends the arrows leave meet", 5.0),
        ('<g class="fold"><path class="line" d="M-3 0H15"/></g>', "fold", 18.0),
        ('<g class="unsewn"><path class="line" d="M-3 0H15"/></g>', "unsewn", 18.0),
        ('<g class="open"><path class="line" d="M-3 0H15"/></g>', "open: in no seam yet", 18.0),
        ('<path class="notch" d="M0-1V1"/>', "notch", 3.0),
    ]  # fmt: skip
    parts = [f'<g class="legend" transform="translate({number(MARGIN)} {number(top)})">']
    parts.append(f'<path class="frame" d="M0 0H{number(width)}"/>')
    x, y = 4.0, 6.0
    for drawn, told, room in samples:
        needs = room + len(told) * LIST_TEXT * EM + 6.0
        if x + needs > width + 6.0:
            x, y = 4.0, y + 6.5
        parts.append(
            f'<g transform="translate({number(x)} {number(y)})">{drawn}'
            f'<text x="{number(room - 1)}" y="1" font-size="{LIST_TEXT}">{words(told)}</text></g>'
        )
        x += needs
    return "".join([*parts, "</g>"]), top + y + 8.0


def _lists(proposal: Proposal, sheet: PairingSheet, top: float) -> tuple[list[str], float]:
    """Questions with their reasons, all seams, and the open edges, in columns; and how far down they reach."""
    columns = max(1, int((sheet.width + 6.0) // (COLUMN + 6.0)))
    room = (sheet.width - 6.0 * (columns - 1)) / columns
    entries: list[tuple[str, list[tuple[str, str]]]] = []
    cuts = {piece.name: piece.cut for piece in proposal.plan.pieces}
    asked = [(i, seam) for i, seam in enumerate(proposal.seams) if _asked(seam)]
    if asked:
        entries.append(("", [("head", "Questions")]))
        entries += [(plate(i, question=True), _described(seam, cuts, room, reasons=True)) for i, seam in asked]
    sewn = [(i, seam) for i, seam in enumerate(proposal.seams) if not _asked(seam)]
    if sewn:
        entries.append(("", [("head", "Seams")]))
        entries += [(plate(i, question=False), _described(seam, cuts, room, reasons=False)) for i, seam in sewn]
    if proposal.open_edges:
        entries.append(("", [("head", "Open: in no seam, neither unsewn nor a fold")]))
        entries.append(("", [("", line) for line in _wrapped(", ".join(proposal.open_edges), room)]))
    if any(use.backwards for seam in proposal.seams for side in seam.seam.sides for use in side):
        entries.append(("", [("quiet", '"-" before an edge: walked from its other end')]))
    total = sum(len(lines) * LINE + 2.2 for _, lines in entries)
    longest = max((len(lines) * LINE + 2.2 for _, lines in entries), default=0.0)
    limit = max(total / columns, longest + LINE + 2.2) + LINE
    parts, column, y, deepest = [], 0, 0.0, 0.0
    for at, (drawn, lines) in enumerate(entries):
        needs = len(lines) * LINE + 2.2
        follows = len(entries[at + 1][1]) * LINE if not drawn and at + 1 < len(entries) else 0.0
        if y and y + needs + follows > limit and column < columns - 1:
            column, y = column + 1, 0.0
        x = MARGIN + column * (room + 6.0)
        indent = INDENT if drawn else 0.0
        parts.append(f'<g transform="translate({number(x)} {number(top + y)})">')
        if drawn:
            parts.append(f'<g transform="translate(3.4 1.8)">{drawn}</g>')
        for row, (kind, line) in enumerate(lines):
            parts.append(
                f'<text class="{kind}" x="{number(indent)}" y="{number(LIST_TEXT + row * LINE)}" '
                f'font-size="{LIST_TEXT}">{words(line)}</text>'
            )
        parts.append("</g>")
        y += needs
        deepest = max(deepest, y)
    return parts, top + deepest


def _described(seam: ProposedSeam, cuts: Mapping[str, Cut], room: float, *, reasons: bool) -> list[tuple[str, str]]:
    first, second = (sidewords(side) for side in seam.seam.sides)
    twin = seam.seam.sides[0] == seam.seam.sides[1]
    sewn = f"{first} to {twin_of(cuts.get(seam.seam.sides[0][0].piece, 'one'))}" if twin else f"{first} to {second}"
    lengths = amounts.millimetres(seam.lengths[0])
    if not twin:
        lengths += f" and {amounts.millimetres(seam.lengths[1])}"
    lines = [("head", line) for line in _wrapped(seam.seam.name, room - INDENT)]
    lines += [("", line) for line in _wrapped(f"{sewn}; {lengths}", room - INDENT)]
    if reasons:
        told = [
            f"{reason.words} ({'for' if reason.weight >= 0 else 'against'})"
            for reason in seam.reasons
            if reason.words
        ]
        if told:
            lines += [("quiet", line) for line in _wrapped("; ".join(told), room - INDENT)]
        lines += [
            ("quiet", line) for line in _wrapped(f"{min(seam.confidence, MOST_LIKELY):.0%} likely", room - INDENT)
        ]
        if seam.runner_up:
            lines += [("quiet", line) for line in _wrapped(f"Otherwise: {seam.runner_up}", room - INDENT)]
    return lines


def twin_of(cut: Cut) -> str:
    """What an edge meets that is sewn to itself, by how its piece is cut."""
    if cut in ("pair", "fold"):
        return "its mirror twin"
    return "itself" if cut in ("one", 1) else "the same edge of another copy"


def sidewords(side: Sequence[EdgeUse]) -> str:
    """One side of a seam: its edges in a row, an edge that comes again and again counted."""
    told: list[tuple[str, int]] = []
    for use in side:
        if told and told[-1][0] == use.name:
            told[-1] = (use.name, told[-1][1] + 1)
        else:
            told.append((use.name, 1))
    return " + ".join(f"{times} × {name}" if times > 1 else name for name, times in told)


def _wrapped(text: str, room: float) -> list[str]:
    return textwrap.wrap(printable(text), max(12, int(room / (LIST_TEXT * EM * 0.93))), break_on_hyphens=False) or [
        ""
    ]
