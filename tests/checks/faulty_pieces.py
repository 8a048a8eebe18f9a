"""Skirts with something done to the shape, the lines or the words of one piece."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from faulty_skirts import GOOD, cut_line, line, lines, with_grain
from skirt_making import Sheet, smooth, unit

from seamcheck.geometry.curve import Curve
from seamcheck.pattern.model import Pattern
from seamcheck.pattern.plan import PiecePlan
from seamcheck.pieces.build import build_pattern
from seamcheck.pieces.outline import assemble
from seamcheck.reading.base import Source
from seamcheck.reading.second import read_twice
from seamcheck.reading.svg.reader import IMPORTER


@dataclass(frozen=True)
class ReadTwice(Sheet):
    """A sheet of which the second reader sees something else: `again`."""

    again: str = ""

    def pattern(self) -> Pattern:
        drawing = IMPORTER.read(Source("skirt.svg", self.svg.encode()))
        drawing = read_twice(Source("skirt.svg", self.again.encode()), drawing)
        return build_pattern(drawing, assemble(drawing), self.plan)


def loose(d: str, label: str = "") -> Sheet:
    """The skirt with a line more on the sheet, in no group of a piece."""
    sheet = Sheet.of(GOOD)
    named = f' inkscape:label="{label}"' if label else ""
    return replace(sheet, svg=sheet.svg.replace("\n</g>\n</svg>", f'\n<path{named} d="{d}"/>\n</g>\n</svg>'))


def read_again(old: str = "", new: str = "") -> ReadTwice:
    """The skirt, with the first of these words in its drawing replaced for the second reader."""
    sheet = Sheet.of(GOOD)
    assert old in sheet.svg
    return ReadTwice(sheet.svg, sheet.plan, again=sheet.svg.replace(old, new, 1))


PATCH = (700 + 20j, 840 + 20j, 840 + 180j, 700 + 180j)
FLAP = (0j, 100 + 0j, 110 + 80j, 0 + 60j)


def path(points: Sequence[complex], label: str = "", *, close: bool = True) -> str:
    d = " L".join(f"{point.real:.9f},{point.imag:.9f}" for point in points)
    named = f' inkscape:label="{label}"' if label else ""
    return f'<path{named} d="M{d}{" Z" if close else ""}"/>'


def with_pieces(sheet: Sheet, **pieces: tuple[Sequence[complex], str]) -> Sheet:
    """More pieces with straight edges, each with marks of its own; all their edges are free."""
    groups, plans = [], []
    for key, (points, marks) in pieces.items():
        name = key.replace("_", " ").capitalize()
        middle = sum(points) / len(points)
        words = "".join(
            f'<text x="{middle.real + 5}" y="{middle.imag + 9 * k}" font-size="6">{text}</text>'
            for k, text in enumerate((name, "Size 40", "Cut 1"))
        )
        height = max(p.imag for p in points) - min(p.imag for p in points)
        arrow = path((middle + 0.3j * height, middle - 0.3j * height), "grain", close=False)
        groups.append(f'<g inkscape:label="{name}">{path(points, "sew line")}{arrow}{marks}{words}</g>')
        corners = {f"p{k}": point for k, point in enumerate(points)}
        edges = {f"side {k}": (f"p{k}", f"p{(k + 1) % len(points)}") for k in range(len(points))}
        plans.append(PiecePlan(name=name, in_file=name, corners=corners, edges=edges, unsewn=tuple(edges)))
    svg = sheet.svg.replace("\n</g>\n</svg>", "\n" + "\n".join(groups) + "\n</g>\n</svg>")
    assert sheet.plan is not None
    return replace(sheet, svg=svg).planned(pieces=(*sheet.plan.pieces, *plans))


def test_square(side: float, words: str) -> Sheet:
    """A square on the sheet, and what is written in it."""
    at = 450 + 450j
    square = path((at, at + side, at + side * (1 + 1j), at + side * 1j))
    text = f'<text x="{at.real + 2}" y="{at.imag + 20}" font-size="6">{words}</text>'
    sheet = Sheet.of(GOOD)
    return replace(sheet, svg=sheet.svg.replace("\n</g>\n</svg>", f"\n{square}{text}\n</g>\n</svg>"))


test_square.__test__ = False  # type: ignore[attr-defined]  # its name begins as those of tests do


def long_piece(length: float) -> Sheet:
    """A strip of 300 mm and some length, as no piece of clothes has it."""
    strip = (700 + 20j, 700 + length + 20j, 700 + length + 320j, 700 + 320j)
    return with_pieces(Sheet.of(GOOD), strip=(strip, ""))


def hole(at: complex) -> Sheet:
    return Sheet.of(GOOD).drawn("front", f'<circle inkscape:label="drill hole" cx="{at.real}" cy="{at.imag}" r="1"/>')


def inner_line(label: str, *points: complex, panel: str = "front") -> Sheet:
    return Sheet.of(GOOD).drawn(panel, path(points, label, close=False))


# The outline


def hem_through(*offsets: complex) -> Sheet:
    """The front's hem by way of points that are told from its start at the side; it ends on a level with the last."""
    hem, fold = line("front", "hem"), line("front", "fold")
    end = complex(hem.end.real, (hem.start + offsets[-1]).imag)
    points = [hem.start, *(hem.start + offset for offset in offsets), end]
    return lines("front", hem=Curve.polyline(points), fold=Curve.line(end, fold.end))


LOOP = (-100, -80 + 25j, -88 - 6j)


def loop_width() -> float:
    """How wide a circle of the area of the loop is that LOOP makes: it closes where its last line crosses the hem."""
    a, b, c = LOOP
    crossing = b + (c - b) * b.imag / (b - c).imag
    area = abs(((b - a).conjugate() * (crossing - a)).imag) / 2
    return 2 * math.sqrt(area / math.pi)


def small_loop(size: float) -> Sheet:
    return hem_through(*(-100 + size * (offset + 100) for offset in LOOP[:2]), -100 + size * (LOOP[2] + 100))


# Cut lines


def cut(name: str, *points: complex, label: str = "cut line") -> str:
    return path(points, label)


def cut_lines(**allowances: float) -> Sheet:
    """Cut lines round some panels, each at one distance."""
    sheet = Sheet.of(GOOD)
    for key, allowance in allowances.items():
        name = key.replace("_", "-")
        sheet = sheet.drawn(name, cut_line(name, allowance))
    return sheet


def front_cut(*hem: complex, allowance: float = 12.0) -> Sheet:
    """A cut line round the front whose part beyond the hem runs through some points, from the side to the fold."""
    side, waist = line("front", "side"), line("front", "waist")
    outer = side.offset(-allowance)
    outer = outer.between(0.0, outer.length - max(outer.end.imag - hem[0].imag, 0.0))
    top = Curve.polyline([waist.start - allowance * (1 + 1j), outer.start - allowance * 1j, outer.start])
    left = waist.start.real - allowance
    below = Curve.polyline([outer.end, *hem, complex(left, hem[-1].imag), top.start])
    whole = Curve.join([top, outer, below])
    d = "".join(f" C{b.real},{b.imag} {c.real},{c.imag} {e.real},{e.imag}" for _, b, c, e in whole.segments.tolist())
    start = whole.start
    return Sheet.of(GOOD).drawn("front", f'<path inkscape:label="cut line" d="M{start.real},{start.imag}{d} Z"/>')


SIDE_X, FOLD_X, HEM_Y = 230.0, 20.0, 420.0  # of the front


def slanted_cut(more: float) -> Sheet:
    """The allowance of the hem grows or shrinks from 12 mm at the side by some mm to the fold."""
    right, left = SIDE_X + 12.0, FOLD_X - 12.0
    return front_cut(complex(right, HEM_Y + 12.0), complex(left, HEM_Y + 12.0 + more))


def slanted_range(more: float) -> float:
    """From the narrowest to the widest place of it, 1.2 allowances away from the ends, square to the cut line."""
    wide = SIDE_X - FOLD_X + 24.0
    lean = math.cos(math.atan2(more, wide))
    middle = (12.0 + more / 2) * lean
    return (SIDE_X - FOLD_X - 2 * 1.2 * middle) * abs(more) / wide * lean


def turned_up(narrower: float, depth: float = 40.0) -> Sheet:
    """A deep hem whose cut edge is narrower than the piece by some mm at either end."""
    right, left = SIDE_X + 12.0, FOLD_X - 12.0
    points = (
        complex(right, HEM_Y),
        complex(right - narrower, HEM_Y + depth),
        complex(left + narrower, HEM_Y + depth),
        complex(left, HEM_Y),
    )
    return front_cut(*points)


def cut_inside(amount: float) -> Sheet:
    """The cut line left where it was when the front was let down: its hem lies outside."""
    right, left = SIDE_X + 12.0, FOLD_X - 12.0
    return front_cut(complex(right, HEM_Y - amount), complex(left, HEM_Y - amount))


# Folds, centres and mirror images


def folded_patch(degrees: float) -> Sheet:
    """A patch with a fold line drawn on its left side, whose upper edge leaves it under 90 degrees and some more."""
    a, b, c, d = PATCH
    upper = a + (b - a).real * complex(1.0, -math.tan(math.radians(degrees)))
    fold = path((d, a), "fold", close=False)
    return with_pieces(Sheet.of(GOOD), patch=((a, upper, c, d), fold))


def turning_waist(degrees: float, stub: float) -> Sheet:
    """The front's waist leaves the fold squarely for `stub` mm, turns inwards, and comes back to its end."""
    waist = line("front", "waist")
    corner = waist.start + stub
    after = corner + 15.0 * unit(degrees)
    rest = smooth(after, unit(degrees), waist.end, 1)
    return lines("front", waist=Curve.join([Curve.polyline([waist.start, corner, after]), rest]))


def turned_within(degrees: float, stub: float) -> float:
    """How far such a line has turned over its first 6 mm, less half of what it turns over the next."""
    turn = unit(degrees)
    to = stub + (6.0 - stub) * turn
    first = math.degrees(math.atan2(to.imag, to.real))
    return first - (degrees - first) / 2


def flaps(*, moved: complex = 0j, mirrored: bool = True) -> Sheet:
    """A left and a right flap; one corner of the right one may be moved."""
    left = [700 + 20j + point for point in FLAP]
    right = [700 + 200j + point for point in (*FLAP[:2], FLAP[2] + moved, FLAP[3])]
    if mirrored:
        right = [complex(1700 - point.real, point.imag) for point in reversed(right)]
    return with_pieces(Sheet.of(GOOD), flap_left=(left, ""), flap_right=(right, ""))


# Words and grain


def with_texts(name: str, *texts: str) -> Sheet:
    return Sheet.of(GOOD.with_panel(name, texts=texts))


def wordless() -> Sheet:
    draft = GOOD
    for panel in GOOD.panels:
        draft = draft.with_panel(panel.name, texts=())
    return Sheet.of(draft)


def leaning_grain(degrees: float, length: float = 320.0) -> Sheet:
    """An arrow on the front that leans against its upright fold."""
    start = complex(60, 380) if abs(degrees) > 10.0 else complex(100, 380)
    return with_grain("front", (start, start + length * unit(-90 + degrees)))


def creased(degrees: float) -> Sheet:
    """A crease on the back, whose arrow stands upright."""
    return inner_line("crease", 400 + 400j, 400 + 400j + 240 * unit(-90 + degrees), panel="back")
