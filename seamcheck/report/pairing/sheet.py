"""The pieces of a proposal laid out on a sheet of paper: the one drawing that the picture and the page are made from.

sheet    coordinates are millimetres of paper, x to the right and y down, whatever axes the file has
scale    how many mm of cloth one mm of paper stands for
band     a line along an edge, or beside it further in, that shows a seam
place    where the plate with a seam's number stands on an edge, with the direction of the edge there

Every piece keeps the orientation in which it is drawn and is moved to where it lies on no other. The sheet is the
smallest on which every name finds a free place.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import numpy.typing as npt

from seamcheck.geometry.curve import Affine
from seamcheck.geometry.exact_arrays import most_at
from seamcheck.pairing.proposal import ProposedSeam
from seamcheck.pattern.junction_layout import bounds_upright, upright
from seamcheck.report import pen
from seamcheck.report.figures.drawn import edge_label, keep_off, lines, roles
from seamcheck.report.figures.looks import Kind
from seamcheck.report.layout import printable
from seamcheck.report.lettering import EDGE_TEXT, Label, Labels, on_runs, text_width

if TYPE_CHECKING:
    from seamcheck.geometry.curve import Curve
    from seamcheck.pairing.proposal import Proposal
    from seamcheck.pattern.model import Edge, Pattern, Piece
    from seamcheck.pattern.plan import EdgeUse, PiecePlan

Points = npt.NDArray[np.complex128]

SHEETS = ((277.0, 160.0), (400.0, 250.0), (480.0, 310.0), (574.0, 375.0))  # what A4, A3, B3 and A2 leave free
MANTISSAS = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0)
CLEARANCE = 7.5  # round every piece, for names and plates
PLATE = 5.8  # the room a plate takes along an edge
SHORT = 6.5  # an edge below this has its plates beside it and not on it
LAYERS = 3  # bands side by side on an edge that is in several seams
LAYER_STEP = 1.5
REPEATED_AT = (110.0, 260.0)  # an edge as long as this shows its seam once more
CROWDED = 0.03  # the share of names that may touch something before a larger sheet is taken
NARROWEST = 190.0  # what the title and a list beside another take
FINE = 0.05  # how far the drawn line may be from the true one


class PlatePlace(NamedTuple):
    """Where a plate stands (`at`), the point of the edge it speaks of (`foot`), and the edge's direction there in degrees."""

    at: complex
    foot: complex
    angle: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnEdge:
    """An edge that the plan names. `track` are places along it, `stack` places one behind the other off its middle."""

    key: str  # "piece.edge", as the plan writes it
    name: str
    start: str
    end: str
    length: float  # mm of cloth
    drawn_length: float
    runs: tuple[Points, ...]
    bands: tuple[str, ...]
    track: tuple[PlatePlace, ...]
    stack: tuple[PlatePlace, ...]
    ends: tuple[complex, complex]
    forward: bool
    role: str  # "sewn", "unsewn", "fold" or "open"
    label: Label

    def places(self, count: int) -> tuple[int, tuple[PlatePlace, ...]]:
        """How often each of so many seams is shown on the edge, and the places for all of them in turn."""
        times = 1 + sum(self.drawn_length >= least for least in REPEATED_AT)
        while times > 1 and count * times * PLATE > self.drawn_length:
            times -= 1
        total = count * times
        if total * PLATE > self.drawn_length or not self.track:
            return 1, tuple(self.stack[min(i, len(self.stack) - 1)] for i in range(count))
        return times, tuple(self.track[int((i + 0.5) / total * len(self.track))] for i in range(total))


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnPiece:
    """A piece on the sheet; `lines` are all others than its edges, by kind. `move` takes the file's axes to the sheet."""

    name: str
    move: Affine
    box: tuple[float, float, float, float]  # left, top, right, bottom
    outline: str
    edges: tuple[DrawnEdge, ...]
    corners: tuple[tuple[complex, Label], ...]
    lines: tuple[tuple[str, str], ...]
    title: Label
    cut: Label


@dataclass(frozen=True, slots=True, kw_only=True)
class PairingSheet:
    """The drawing: its pieces, its size in mm of paper, its scale, and the size of garment that is drawn."""

    width: float
    height: float
    scale: float
    size: str
    pieces: tuple[DrawnPiece, ...]
    crowded: int  # names that found no free place, and plates that lie on each other, threefold
    paper: int = 0  # the number of the sheet

    def edges(self) -> Iterator[DrawnEdge]:
        """All edges, piece by piece."""
        for piece in self.pieces:
            yield from piece.edges


def uses_of(seams: Sequence[ProposedSeam]) -> dict[str, list[tuple[int, int, EdgeUse]]]:
    """By edge: which seams use it, as (number of the seam from 0, side, use), each side once."""
    uses: dict[str, list[tuple[int, int, EdgeUse]]] = {}
    for number, seam in enumerate(seams):
        for side, edges in enumerate(seam.seam.sides):
            for use in edges:
                there = uses.setdefault(use.name, [])
                if (number, side) not in [entry[:2] for entry in there]:
                    there.append((number, side, use))
    return uses


def shown_size(pattern: Pattern) -> str:
    """The size that is drawn: the middle one."""
    return pattern.sizes[len(pattern.sizes) // 2] if pattern.sizes else ""


def lay_out(proposal: Proposal, size: str | None = None, smallest: int = 0) -> PairingSheet:
    """The proposal's pieces in one size, the middle one where none is told, on the smallest sheet on which all but a few names have free places.

    `smallest` is the number of the sheet that is tried first: that of the last time, so that pieces stay where they lay.
    """
    best: PairingSheet | None = None
    size = shown_size(proposal.pattern) if size is None else size
    for paper in range(smallest, len(SHEETS)):
        sheet = _on_paper(proposal, size, paper)
        if best is None or sheet.crowded < best.crowded:
            best = sheet
        if sheet.crowded <= CROWDED * sum(2 + len(piece.edges) + len(piece.corners) for piece in sheet.pieces):
            break
    assert best is not None
    return best


def _on_paper(proposal: Proposal, size: str, paper: int) -> PairingSheet:
    width, height = SHEETS[paper]
    pieces = [piece for piece in proposal.pattern.in_size(size) if piece.outline.length > 0]
    boxes = [bounds_upright(piece) for piece in pieces]
    scale, places, reach = _scale(boxes, width, height)
    width, height = max(reach.real, NARROWEST), reach.imag
    plans = {plan.name: plan for plan in proposal.plan.pieces}
    sketches = [
        _Sketch(piece, plans.get(piece.name), box, place, scale, set(proposal.open_edges))
        for piece, box, place in zip(pieces, boxes, places, strict=True)
    ]
    labels = Labels(width, height)
    uses = uses_of(proposal.seams)
    plates: list[complex] = []
    for sketch in sketches:
        keep_off(labels, sketch.lines)
        for edge in sketch.edges:
            here = uses.get(edge.key, [])
            for turn, place in enumerate(edge.places(len(here))[1] if here else ()):
                labels.avoid_box(place.at, PLATE, PLATE)
                ahead = _unit(place.angle) * (-1 if here[turn % len(here)][2].backwards else 1)
                labels.avoid_box(place.at + ahead * (PLATE - 1.0), 3.0, 3.0)
                # A plate that lies on another costs as much as a few names that do.
                labels.crowded += 3 * sum(abs(place.at - other) < PLATE * 0.85 for other in plates)
                plates.append(place.at)
    drawn = tuple(sketch.drawn(labels) for sketch in sketches)
    # A name that a line must lead to is as one that found no free place.
    each = (one for piece in drawn for one in (*(e.label for e in piece.edges), *(name for _, name in piece.corners)))
    labels.crowded += sum(one.of is not None for one in each)
    return PairingSheet(
        width=width, height=height, scale=scale, size=size, pieces=drawn, crowded=labels.crowded, paper=paper
    )


def _scale(
    boxes: Sequence[tuple[float, float, float, float]], width: float, height: float
) -> tuple[float, list[complex], complex]:
    """The finest round scale at which all boxes fit; the top left corner of each; and how far they reach."""
    power = 0
    while True:
        for mantissa in MANTISSAS:
            scale = mantissa * 10.0**power
            sizes = [
                ((x1 - x0) / scale + 2 * CLEARANCE, (y1 - y0) / scale + 2 * CLEARANCE) for x0, y0, x1, y1 in boxes
            ]
            packed = _pack(sizes, width)
            if packed is not None and packed[1].imag <= height:
                return scale, [place + complex(CLEARANCE, CLEARANCE) for place in packed[0]], packed[1]
        power += 1
        if power > 12:  # nothing fits: clearances alone fill the paper, so it has to be longer
            packed = _pack([(min(w, width), h) for w, h in sizes], width)
            assert packed is not None
            return scale, [place + complex(CLEARANCE, CLEARANCE) for place in packed[0]], packed[1]


def _pack(sizes: Sequence[tuple[float, float]], width: float) -> tuple[list[complex], complex] | None:
    """Top left corners of boxes, the tallest first, each as far left as it goes without making the sheet taller.

    With the corner that they reach to; None where a box is too wide.
    """
    skyline = [(0.0, 0.0)]  # from x on, down to y, everything is taken
    places = [0j] * len(sizes)
    used = 0j
    for index in sorted(range(len(sizes)), key=lambda i: (-round(sizes[i][1], 6), i)):
        w, h = sizes[index]
        best: tuple[float, float, float] | None = None  # how much taller the sheet gets, x, y
        for x, _ in skyline:
            if x + w > width + 1e-9:
                continue
            nexts = [right for right, _ in skyline[1:]] + [width]
            y = max(top for (left, top), right in zip(skyline, nexts, strict=True) if left < x + w and right > x)
            best = min(best or (np.inf, 0.0, 0.0), (round(max(0.0, y + h - used.imag), 6), x, y))
        if best is None:
            return None
        _, x, y = best
        used = complex(max(used.real, x + w), max(used.imag, y + h))
        places[index] = complex(x, y)
        after = [entry for entry in skyline if entry[0] >= x + w]
        until = [top for left, top in skyline if left <= x + w]
        skyline = [entry for entry in skyline if entry[0] < x] + [(x, y + h)]
        if (not after or after[0][0] > x + w) and x + w < width:
            skyline.append((x + w, until[-1]))
        skyline += after
    return places, used


class _Sketch:
    """One piece moved to its place on the sheet, its names not yet placed."""

    def __init__(
        self,
        piece: Piece,
        plan: PiecePlan | None,
        box: tuple[float, float, float, float],
        place: complex,
        scale: float,
        open_edges: set[str],
    ) -> None:
        self.piece, self.plan, self.scale = piece, plan, scale
        shift = place - complex(box[0], box[1]) / scale
        self.move = Affine.translation(shift) @ Affine.scaling(1 / scale) @ upright(piece)
        here = {edge.name for edge in piece.edges if f"{piece.name}.{edge.name}" in open_edges}
        self.roles = roles(piece, plan, here)
        self.lines = [line.transformed(self.move) for line in lines(piece, scale, self.roles)]
        self.outline = self._line(piece.outline)
        named = set(plan.edges) if plan else set()
        # Of an edge that a pleat takes up whole nothing is left to be drawn.
        self.edges = tuple(self._edge(edge) for edge in piece.edges if edge.name in named and edge.runs)

    def _line(self, curve: Curve) -> Points:
        return thinned(curve.transformed(self.move).polygon(FINE))

    def _edge(self, edge: Edge) -> DrawnEdge:
        runs = tuple(self._line(run) for run in edge.runs)
        inward = 1j if edge.forward else -1j
        length = edge.length / self.scale
        count = max(1, min(60, round(length / 2.5)))
        track = tuple(_place(runs, (i + 0.5) / count) for i in range(count))
        middle = _place(runs, 0.5)
        out = -inward * _unit(middle.angle)
        first = 0.0 if length >= SHORT else PLATE * 0.85
        stack = tuple(
            PlatePlace(middle.foot + out * (first + i * PLATE), middle.foot, middle.angle) for i in range(4)
        )
        role = self.roles[edge.name]
        ends = [_place(runs, share) for share in (0.0, 1.0)]
        return DrawnEdge(
            key=f"{self.piece.name}.{edge.name}",
            name=edge.name,
            start=edge.start,
            end=edge.end,
            length=edge.length,
            drawn_length=length,
            runs=runs,
            bands=tuple(
                " ".join(pen.polyline(_beside(run, inward * LAYER_STEP * layer)) for run in runs)
                for layer in range(LAYERS)
            ),
            track=track,
            stack=stack,
            ends=(
                ends[0].foot + inward * _unit(ends[0].angle) * 3.2,
                ends[1].foot + inward * _unit(ends[1].angle) * 3.2,
            ),
            forward=edge.forward,
            role="sewn" if role is Kind.EDGE else role.value,
            label=Label(edge.name, 0j, 0.0, EDGE_TEXT),
        )

    def drawn(self, labels: Labels) -> DrawnPiece:
        """The piece with its names placed where there is room."""
        title, cut = labels.inside(self.outline, printable(self.piece.name), self._cut())
        centre = complex(self.outline.mean())
        named = set(self.plan.corners) if self.plan else set()
        edges = tuple(replace(drawn, label=self._label(labels, drawn)) for drawn in self.edges)
        corners = []
        for corner in self.piece.corners:
            if corner.name in named:
                at, words = complex(self.move.apply(corner.at)), printable(corner.name)
                corners.append((at, labels.beside(at, words, at - centre) or labels.led(at, words, at - centre)))
        kept = [
            line
            for line in self.lines
            if line.kind is not Kind.OUTLINE and (not line.edge or line.kind is Kind.NOTCH)
        ]
        left, top = float(self.outline.real.min()), float(self.outline.imag.min())
        return DrawnPiece(
            name=self.piece.name,
            move=self.move,
            box=(left, top, float(self.outline.real.max()), float(self.outline.imag.max())),
            outline=pen.polyline(self.outline, closed=True),
            edges=edges,
            corners=tuple(corners),
            lines=tuple((line.kind, pen.polyline(thinned(line.curve.polygon(FINE)))) for line in kept),
            title=title,
            cut=cut,
        )

    def _label(self, labels: Labels, drawn: DrawnEdge) -> Label:
        words = printable(said(drawn.name, drawn.role))
        found = edge_label(labels, drawn.runs, self.piece.edge(drawn.name), [words])
        if found is not None:
            return found
        at, along = on_runs(drawn.runs, 0.5)
        return labels.led(at, words, along * (-1j if drawn.forward else 1j))

    def _cut(self) -> str:
        cut = self.plan.cut if self.plan else "one"
        return {"pair": "cut a mirrored pair", "fold": "cut on the fold", "one": "cut one"}.get(
            str(cut), f"cut {cut}"
        )


def said(name: str, role: str) -> str:
    """The name of an edge with what becomes of it where it is in no seam."""
    return f"{name} ({role})" if role in ("unsewn", "fold", "open") else name


def thinned(points: Points) -> Points:
    """The polyline without vertices that lie within FINE of the line through the others."""
    if len(points) < 3:
        return points
    keep = np.zeros(len(points), dtype=bool)
    keep[[0, -1]] = True
    stack = [(0, len(points) - 1)]
    while stack:
        a, b = stack.pop()
        if b - a < 2:
            continue
        chord = points[b] - points[a]
        off = points[a + 1 : b] - points[a]
        if chord:
            t = np.clip((off * np.conj(chord)).real / abs(chord) ** 2, 0.0, 1.0)
            distance = np.abs(off - t * chord)
        else:
            distance = np.abs(off)
        worst = most_at(distance)
        if distance[worst] > FINE:
            keep[a + 1 + worst] = True
            stack += [(a, a + 1 + worst), (a + 1 + worst, b)]
    return points[keep]


def _place(runs: Sequence[Points], share: float) -> PlatePlace:
    """The place at a share of the whole way along the drawn lines of an edge."""
    at, along = on_runs(runs, share)
    return PlatePlace(at, at, float(np.degrees(np.angle(along))))


def _unit(degrees: float) -> complex:
    return complex(np.exp(1j * np.radians(degrees)))


def _beside(points: Points, offset: complex) -> Points:
    """The polyline moved sideways: `offset` times its direction at every vertex."""
    if not offset or len(points) < 2:
        return points
    steps = np.diff(points)
    steps = np.where(np.abs(steps) > 0, steps / np.maximum(np.abs(steps), 1e-12), 1.0)
    mean = np.concatenate([steps[:1], (steps[1:] + steps[:-1]) / 2, steps[-1:]])
    moved: Points = points + offset * mean / np.maximum(np.abs(mean), 0.5) ** 2
    return moved


__all__ = [
    "DrawnEdge",
    "DrawnPiece",
    "Label",
    "PairingSheet",
    "PlatePlace",
    "lay_out",
    "said",
    "text_width",
    "uses_of",
]
