"""Names on a drawing, each put where it covers neither a line nor another name.

What is drawn already is a cloud of points; a place is free when no point lies in the box of the text. The first
free place of a list is taken, or the least covered one when none is free.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from seamcheck.exact import most
from seamcheck.geometry.short_arrays import each_once

Counts = npt.NDArray[np.intp]
Points = npt.NDArray[np.complex128]

TITLE_TEXT = 3.4  # heights of the letters' em, mm of paper
EDGE_TEXT = 2.7
CORNER_TEXT = 2.3
EM = 0.56  # the mean width of a letter in a plain sans face, generously
CLEAR = 1.2  # mm that the name of a piece, which is bold, stays off all else
CELL = 6.0  # mm: the side of a square of the sheet in which points are looked for
STEP = 0.7  # how densely lines and boxes are covered with points
OVER, ACROSS = 1000.0, 3.0  # mm that a name may rather be farther off than lie over a point, or lead across one
GAPS = (0.8, 2.2, 4.0, 6.0, 9.0, 13.0, 18.0, 25.0)  # mm from a point to a name that a line leads to
TRIED = 80  # free places that are weighed
_TURNS = (0.0, 0.5, -0.5, 1.0, -1.0, 1.5, -1.5, 2.1, -2.1, 2.6, -2.6, np.pi)


def text_width(text: str, size: float) -> float:
    """How much room a line of text takes, in mm of paper, wide letters of other scripts counted as a whole em."""
    return sum(size * (EM if ord(letter) < 0x1100 else 1.0) for letter in text)


# Letters of Helvetica that are not as wide as most, in ems (rounded, from memory of its metrics).
_WIDTHS = (("ijl'", 0.22), ("ft .,:;/I|", 0.28), ("()r-", 0.33), ("cksvxyz", 0.5), ("w", 0.72), ("m", 0.83))
_USUAL = 0.556


def helvetica_width(text: str, size: float) -> float:
    """How wide a line of text is in Helvetica and the faces that stand in for it, nearly."""
    usual = (_USUAL if ord(letter) < 0x1100 else 1.0 for letter in text)
    ems = (
        next((width for letters, width in _WIDTHS if letter in letters), other)
        for letter, other in zip(text, usual, strict=True)
    )
    return size * sum(ems)


@dataclass(frozen=True, slots=True)
class Label:
    """A text with its middle at a point of the sheet, turned by an angle in degrees, in letters of some size.

    A fine line leads from `of` to it where it stands off what it speaks of.
    """

    text: str
    at: complex
    angle: float
    size: float
    of: complex | None = None

    @property
    def leader(self) -> tuple[complex, complex] | None:
        """The ends of the line that leads to the nearest side of the text; None where it needs none."""
        if self.of is None:
            return None
        half = helvetica_width(self.text, self.size) / 2 + 0.5, 0.7 * self.size
        off = self.of - self.at
        near = complex(min(max(off.real, -half[0]), half[0]), min(max(off.imag, -half[1]), half[1]))
        return self.of, self.at + near


class _Cloud:
    """Points by the square cells in which they lie, so that those in a box are found without looking at all."""

    def __init__(self) -> None:
        self._cells: dict[complex, list[Points]] = {}  # by column and row

    def add(self, points: Points) -> None:
        if not len(points):
            return
        cells = np.floor(points.real / CELL) + 1j * np.floor(points.imag / CELL)
        order = cells.argsort(kind="stable")
        cells, points = cells[order], points[order]
        firsts = [0, *(np.flatnonzero(cells[1:] != cells[:-1]) + 1).tolist(), len(cells)]
        for first, last in pairwise(firsts):
            self._cells.setdefault(complex(cells[first]), []).append(points[first:last])

    def within(self, left: float, top: float, right: float, bottom: float) -> Points:
        """All points in a box, and some round it."""
        found = []
        for column in range(math.floor(left / CELL), math.floor(right / CELL) + 1):
            for row in range(math.floor(top / CELL), math.floor(bottom / CELL) + 1):
                parts = self._cells.get(complex(column, row))
                if parts is None:
                    continue
                if len(parts) > 1:
                    parts[:] = [np.concatenate(parts)]
                found.append(parts[0])
        return np.concatenate(found) if found else np.zeros(0, dtype=np.complex128)


class Labels:
    """The sheet as far as it is covered."""

    def __init__(self, width: float = np.inf, height: float = np.inf) -> None:
        """Start with an empty sheet of this size in mm of paper; without a size it has no borders at all."""
        self._width, self._height = width, height
        self._taken: list[Points] = [np.zeros(0, dtype=np.complex128)]
        self._cloud = _Cloud()
        self.crowded = 0

    def avoid(self, line: Points) -> None:
        """Keep names off a polyline."""
        self._add(dense(line))

    def avoid_box(self, at: complex, width: float, height: float, turn: complex = 1 + 0j) -> None:
        """Keep names off a box round a point."""
        xs = np.linspace(-width / 2, width / 2, max(2, round(width / STEP)))
        ys = np.linspace(-height / 2, height / 2, max(2, round(height / STEP)))
        self._add((at + turn * (xs[:, None] + 1j * ys[None, :])).ravel())

    def reaches(self) -> tuple[float, float, float, float]:
        """Left, top, right and bottom of all that is covered; ValueError where nothing is."""
        every = np.concatenate(self._taken)
        x, y = every.real, every.imag
        return float(x.min()), float(y.min()), float(x.max()), float(y.max())

    def _add(self, points: Points) -> None:
        self._taken.append(points)
        self._cloud.add(points)

    def _covered(self, at: complex, width: float, height: float, turn: complex) -> int:
        reach = (abs(turn.real) * width + abs(turn.imag) * height) / 2
        rise = (abs(turn.imag) * width + abs(turn.real) * height) / 2
        near = self._cloud.within(at.real - reach, at.imag - rise, at.real + reach, at.imag + rise)
        local = (near - at) * turn.conjugate()
        hits = int(np.count_nonzero((np.abs(local.real) < width / 2) & (np.abs(local.imag) < height / 2)))
        outside = at.real - reach < 0 or at.real + reach > self._width
        outside = outside or (np.isfinite(self._height) and not rise <= at.imag <= self._height - rise)
        return hits + (1000 if outside and np.isfinite(self._width) else 0)

    def _covered_upright(self, spots: Points, width: float, height: float) -> Counts:
        """How much an upright box covers at each of many spots: all are counted at once, by what lies left of and above the ends of each."""
        every = np.concatenate(self._taken)
        sides = []
        for at, of, half in ((spots.real, every.real, width / 2), (spots.imag, every.imag, height / 2)):
            ends = each_once(np.concatenate([at - half, at + half]))
            sides.append([np.searchsorted(ends, some) for some in (of, at - half, at + half)])
        (columns, left, right), (rows, top, bottom) = sides
        wide, high = int(right.max()) + 2, int(bottom.max()) + 2
        counts = np.bincount(columns * high + rows, minlength=wide * high).reshape(wide, high)
        before = counts.cumsum(axis=0).cumsum(axis=1)
        covered: Counts = before[right, bottom] - before[left, bottom] - before[right, top] + before[left, top]
        if np.isfinite(self._width):
            outside = (spots.real < width / 2) | (spots.real > self._width - width / 2)
            if np.isfinite(self._height):
                outside |= (spots.imag < height / 2) | (spots.imag > self._height - height / 2)
            covered = covered + 1000 * outside
        return covered

    def first_free(
        self, candidates: Iterable[tuple[complex, complex]], width: float, height: float
    ) -> tuple[complex, complex]:
        """The first of some places, each a middle and a direction, where a box of this size covers nothing; it is taken."""
        best: tuple[int, complex, complex] | None = None
        for at, turn in candidates:
            covered = self._covered(at, width, height, turn)
            if best is None or covered < best[0]:
                best = (covered, at, turn)
            if not covered:
                break
        assert best is not None
        self.crowded += best[0] > 0
        self.avoid_box(best[1], width, height, best[2])
        return best[1], best[2]

    def free(
        self, candidates: Iterable[tuple[complex, complex]], width: float, height: float
    ) -> tuple[complex, complex] | None:
        """The first of some places where a box of this size covers nothing, and it is taken; None where there is none."""
        for at, turn in candidates:
            if not self._covered(at, width, height, turn):
                self.avoid_box(at, width, height, turn)
                return at, turn
        return None

    def along(self, runs: Sequence[Points], text: str, inward: complex) -> Label | None:
        """A name beside an edge and in its direction, outside of the piece if there is room there.

        None where the name is longer than the edge, or would cover something wherever it stands.
        """
        width, height = text_width(text, EDGE_TEXT), EDGE_TEXT * 1.05
        longest = most(runs, key=_length)
        if width > _length(longest):
            return None
        place = self.free(_beside(longest, width, EDGE_TEXT, inward), width, height)
        return None if place is None else Label(text, place[0], _degrees(place[1]), EDGE_TEXT)

    def beside(self, point: complex, text: str, outward: complex) -> Label | None:
        """A name beside a point, upright; None where it would cover something wherever it stands."""
        width = text_width(text, CORNER_TEXT)
        heading = float(np.angle(outward)) if outward else 0.0
        spots = (
            (point + _off_box(np.exp(1j * (heading + turn)), width, CORNER_TEXT, gap), 1 + 0j)
            for gap in (0.8, 2.2, 4.0, 6.0)
            for turn in _TURNS
        )
        place = self.free(spots, width, CORNER_TEXT)
        return None if place is None else Label(text, place[0], 0.0, CORNER_TEXT)

    def led(self, point: complex, text: str, outward: complex) -> Label:
        """A name that a line is to lead to from the point it speaks of: the nearer the better, and crossing little."""
        width, height = text_width(text, CORNER_TEXT), CORNER_TEXT
        heading = float(np.angle(outward)) if outward else 0.0
        best: tuple[float, complex] | None = None
        for gap in GAPS:
            for turn in _TURNS:
                at = point + _off_box(np.exp(1j * (heading + turn)), width, height, gap)
                cost = gap + OVER * self._covered(at, width, height, 1 + 0j) + ACROSS * self._crossed(point, at)
                best = min(best or (cost, at), (cost, at), key=lambda pair: round(pair[0], 6))
        assert best is not None
        self.crowded += best[0] >= OVER
        self.avoid_box(best[1], width, height)
        self.avoid(np.array([point, best[1]]))
        return Label(text, best[1], 0.0, CORNER_TEXT, point)

    def led_if_free(self, point: complex, spots: Sequence[complex], width: float, height: float) -> complex | None:
        """Of places, the best first, one where a box of this size covers nothing and the way to a point crosses little; it is taken.

        None where each of them covers something.
        """
        found: list[tuple[float, complex]] = []
        for at in spots:
            if not self._covered(at, width, height, 1 + 0j):
                found.append((abs(at - point) + 3 * ACROSS * self._crossed(point, at), at))
                if len(found) == TRIED:
                    break
        if not found:
            return None
        _, at = min(found, key=lambda pair: round(pair[0], 6))
        self.avoid_box(at, width, height)
        self.avoid(np.array([point, at]))
        return at

    def _crossed(self, point: complex, at: complex) -> int:
        """How much of what is drawn lies on the way from a point to a place, but for what is at the point itself."""
        xs, ys = sorted((point.real, at.real)), sorted((point.imag, at.imag))
        near = self._cloud.within(xs[0] - STEP, ys[0] - STEP, xs[1] + STEP, ys[1] + STEP)
        local = (near - point) * (at - point).conjugate() / (abs(at - point) or 1.0)
        return int(
            np.count_nonzero((np.abs(local.imag) < STEP) & (local.real > 1.0) & (local.real < abs(at - point)))
        )

    def inside(
        self,
        outline: Points,
        title: str,
        below: str,
        turns: Sequence[complex] = (1 + 0j, -1j),
        spots: int = 40,
    ) -> tuple[Label, Label]:
        """The name of a piece with a smaller line below it, where the piece is widest; upright, else turned.

        So many `spots` are tried, the roomiest first.
        """
        width = max(text_width(title, TITLE_TEXT), text_width(below, CORNER_TEXT)) + CLEAR
        height = TITLE_TEXT + CORNER_TEXT + 0.6
        roomy = _roomy(outline, spots)
        low, high = outline.imag.max(), outline.imag.min()
        middle = float(outline.real.min() + outline.real.max()) / 2
        beyond = np.array([complex(middle, low + 6.0), complex(middle, high - 6.0)])
        tried = [*((roomy, turn) for turn in turns), (beyond, 1 + 0j)]
        covered = [
            self._covered_upright(at, *((height, width) if turn.imag else (width, height))) for at, turn in tried
        ]
        emptiest = int(np.concatenate(covered).argmin())
        at, turn = [(complex(at), turn) for spots, turn in tried for at in spots][emptiest]
        self.crowded += int(np.concatenate(covered)[emptiest]) > 0
        self.avoid_box(at, width, height, turn)
        angle = _degrees(turn)
        return (
            Label(title, at - turn * 1j * (CORNER_TEXT + 0.6) / 2, angle, TITLE_TEXT),
            Label(below, at + turn * 1j * (TITLE_TEXT + 0.6) / 2, angle, CORNER_TEXT),
        )


def dense(line: Points) -> Points:
    """The polyline as points no further than STEP apart."""
    if len(line) < 2:
        return line
    steps = np.diff(line)
    counts = np.maximum(np.ceil(np.abs(steps) / STEP).astype(int), 1)
    index = np.repeat(np.arange(len(steps)), counts)
    along = np.arange(len(index)) - np.repeat(np.cumsum(counts) - counts, counts)
    return np.concatenate([line[index] + steps[index] * along / counts[index], line[-1:]])


def _degrees(turn: complex) -> float:
    return float(np.degrees(np.angle(turn)))


def _length(line: Points) -> float:
    return float(np.abs(np.diff(line)).sum())


def on_runs(runs: Sequence[Points], share: float) -> tuple[complex, complex]:
    """The point at a share of the whole way along some polylines, and the direction there as a unit."""
    lengths = [_length(run) for run in runs]
    station, run = share * sum(lengths), runs[-1]
    for run, length in zip(runs, lengths, strict=True):
        if station <= length or run is runs[-1]:
            break
        station -= length
    if len(run) < 2:
        return complex(run[0]), 1 + 0j
    joints = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(run)))])
    step = int(np.clip(np.searchsorted(joints, station) - 1, 0, len(run) - 2))
    ahead = complex(run[step + 1] - run[step])
    at = complex(np.interp(station, joints, run.real), np.interp(station, joints, run.imag))
    return at, ahead / abs(ahead) if ahead else 1 + 0j


def _beside(line: Points, width: float, height: float, inward: complex) -> Iterable[tuple[complex, complex]]:
    stations = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(line)))])
    total = float(stations[-1])

    def point(station: float) -> complex:
        station = min(max(station, 0.0), total)
        return complex(np.interp(station, stations, line.real), np.interp(station, stations, line.imag))

    for side, gap in (
        (-1, 1.2),
        (-1, 3.3),
        (1, 1.4),
        (1, 3.4),
        (-1, 5.5),
        (1, 6.0),
        (-1, 8.0),
        (1, 9.0),
        (-1, 11.0),
        (-1, 14.0),
    ):
        for share in (0.5, 0.36, 0.64, 0.27, 0.73, 0.2, 0.8, 0.12, 0.88):
            at = share * total
            chord = point(at + width / 2) - point(at - width / 2) if total else 1 + 0j
            turn = chord / abs(chord) if chord else 1 + 0j
            centre = point(at) + side * inward * turn * (gap + height / 2)
            # What is nearly upright reads from below upwards, on either side of a piece.
            upright = turn if turn.real > 0.17 or (abs(turn.real) <= 0.17 and turn.imag < 0) else -turn
            yield centre, upright


def _off_box(direction: complex, width: float, height: float, gap: float) -> complex:
    """The middle of a box that lies in a direction from the origin, `gap` away from it."""
    half_w, half_h = width / 2 + gap, height / 2 + gap
    reach = min(
        half_w / abs(direction.real) if abs(direction.real) > 1e-9 else np.inf,
        half_h / abs(direction.imag) if abs(direction.imag) > 1e-9 else np.inf,
    )
    return complex(direction * reach)


def _roomy(outline: Points, count: int) -> Points:
    """Points inside an outline, the one furthest from it first."""
    x0, x1, y0, y1 = outline.real.min(), outline.real.max(), outline.imag.min(), outline.imag.max()
    xs, ys = np.linspace(x0, x1, 22)[1:-1], np.linspace(y0, y1, 22)[1:-1, None]
    behind = np.roll(outline, -1)
    above, rise = outline.imag > ys, np.where(behind.imag == outline.imag, 1.0, behind.imag - outline.imag)
    cross = outline.real + (ys - outline.imag) * (behind.real - outline.real) / rise
    passed = (above != np.roll(above, -1, axis=1))[:, None] & (xs[:, None] < cross[:, None])
    within = (np.count_nonzero(passed, axis=2) % 2).astype(bool)
    grid = (xs + 1j * ys)[within]
    if not len(grid):
        return np.array([complex((x0 + x1) / 2, (y0 + y1) / 2)])
    edge = dense(np.append(outline, outline[:1]))
    apart = ((xs[:, None] - edge.real) ** 2)[None] + ((ys - edge.imag) ** 2)[:, None]
    room = np.sqrt(apart.min(axis=2)[within])
    middle = complex((x0 + x1) / 2, (y0 + y1) / 2)
    # Of places with as much room the one nearest the middle reads best.
    order = np.lexsort((np.round(np.abs(grid - middle), 6), -np.round(np.round(np.minimum(room, 12.0), 6), 1)))
    roomy: Points = grid[order[:count]]
    return roomy
