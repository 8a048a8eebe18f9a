"""What is truly sewn in a drafted pattern, by its plan, and which candidates are right.

A candidate is right when every stretch of it lies on one true seam and on the place of it that the plan puts there; which of
several like lines it takes (the two halves of a symmetric piece, copies of one piece) makes no difference.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np

from seamcheck.config.plan_file import read_plan
from seamcheck.config.settings import Settings
from seamcheck.engine import plugins
from seamcheck.engine.read import Request, read_options
from seamcheck.exact import EXACT
from seamcheck.pairing.alike import Classes, Seam
from seamcheck.pairing.lines import Use, reach
from seamcheck.pattern.model import Edge
from seamcheck.pieces.build import build_pattern
from seamcheck.pieces.outline import assemble
from seamcheck.reading import read_drawing

STATIONS = 48  # steps of a line at which truth is known
SAMPLES = 20  # places of a candidate that are compared
TRIED = 6  # one in so many of them is looked at first
MISSES = 1  # of them that may lie beside a true seam: where two meet
OFF_LINE = 3.5  # mm: how far from a true side a line may lie
OFF_PLACE = 0.04  # share of the seam, or 16 mm, by which a place may be another's mate: an alteration shifts it
FOUND = 0.9  # share of a true seam that right seams cover when it is found
LEAST_SHARE = 0.04  # of a seam and of a line that lies on it, when it is told by its lines
OFF_MARK = 6.0  # mm by which a seam may end beside a mark that it is told by
MOST_TRUTHS = 64  # true seams at one place


@dataclass(frozen=True)
class TrueSeam:
    """A seam of the plan: its two sides as runs of points, each with its piece and its shares of the side."""

    name: str
    sides: tuple[list[tuple[str, np.ndarray, np.ndarray]], list[tuple[str, np.ndarray, np.ndarray]]]
    length: float


@cache
def _importers():
    return plugins.load(Settings()).importers


def opened(path: Path):
    drawing = read_drawing(str(path), read_options(Request(), Settings()), _importers())
    return drawing, assemble(drawing)


def true_seams(drawing, sheet, plan_path: Path, *, size: str, drawn: bool) -> list[TrueSeam]:
    """The seams of a plan in one size; on the lines that the file draws, whatever they are, if `drawn`."""
    plan = read_plan(plan_path)
    if drawn:
        plan = replace(plan, pieces=tuple(replace(p, line=None, allowance=None, allowances={}) for p in plan.pieces))
    pieces = {piece.name: piece for piece in build_pattern(drawing, sheet, plan).in_size(size)}
    seams = []
    for seam in plan.seams:
        sides = []
        for uses in seam.sides:
            edges = [(pieces[use.piece], pieces[use.piece].edge(use.edge), use.backwards) for use in uses]
            total = sum(edge.length for _, edge, _ in edges)
            runs, along = [], 0.0
            for piece, edge, backwards in edges:
                stations = np.linspace(0.0, edge.length, 41)
                points = _points(edge, edge.length - stations if backwards else stations)
                runs.append((piece.in_file, points, (along + stations) / total))
                along += edge.length
            sides.append(runs)
        seams.append(TrueSeam(seam.name, (sides[0], sides[1]), total))
    return seams


def _points(edge: Edge, stations: np.ndarray) -> np.ndarray:
    """The points of an edge at some stations, all at once."""
    at, left = stations / edge.smoothing, np.ones(len(stations), dtype=bool)
    points = np.empty(len(stations), dtype=complex)
    for run in edge.runs[:-1]:
        here = left & (at <= run.length + EXACT)
        points[here] = run.points(at[here])
        at, left = at - run.length, left & ~here
    points[left] = edge.runs[-1].points(at[left])
    return points


class Truth:
    """Where on every line of a pattern a true seam lies."""

    def __init__(self, classes: Classes, seams: Sequence[TrueSeam]) -> None:
        self.classes, self.seams = classes, tuple(seams)
        self.own = own = [self._on_line(line) for line in classes.lines]
        count = len(classes.lines)
        shape = (count, STATIONS + 1, MOST_TRUTHS)
        self.seam, self.side, self.share = np.full(shape, -1), np.zeros(shape, int), np.full(shape, np.nan)
        for line in classes.lines:
            filled = np.zeros(STATIONS + 1, int)
            for other in classes.members[classes.root(line.index)]:  # like lines share their truth
                flip = classes.group[other][1] ^ classes.group[line.index][1]
                for seam, side, share in own[other]:
                    both = (False, True) if line.index in classes.either_way else (flip,)
                    for way in both:
                        there = share[::-1] if way else share
                        at = np.flatnonzero(np.isfinite(there) & (filled < MOST_TRUTHS))
                        slots = filled[at]
                        self.seam[line.index, at, slots] = seam
                        self.side[line.index, at, slots] = side
                        self.share[line.index, at, slots] = there[at]
                        filled[at] += 1
        most = max(int((self.seam >= 0).sum(axis=2).max(initial=0)), 1)  # few places lie on many seams
        self.seam, self.side, self.share = (each[..., :most] for each in (self.seam, self.side, self.share))
        self.limit = np.array([max(OFF_PLACE, 16.0 / max(seam.length, 1.0)) + 0.02 for seam in seams] or [0.0])

    def _on_line(self, line):
        piece = self.classes.parts[line.piece].piece
        stations = np.linspace(0.0, line.length, STATIONS + 1)
        points, along = [], 0.0
        for number, name in enumerate(line.edges, 1):
            edge = piece.edge(name)
            length, on = edge.length, stations[len(points) :] - along
            if number < len(line.edges):
                on = on[on <= length + 1e-9]
            points += _points(edge, np.minimum(on, length)).tolist()
            along += length
        places = np.array(points)
        found = []
        for number, seam in enumerate(self.seams):
            for side, runs in enumerate(seam.sides):
                for name, there, shares in runs:
                    if name != piece.in_file:
                        continue
                    a, step = there[:-1], np.diff(there)
                    t = np.clip(((places[:, None] - a) * step.conj()).real / np.maximum(abs(step) ** 2, 1e-18), 0, 1)
                    off = abs(a + t * step - places[:, None])
                    best = off.argmin(1)
                    rows = np.arange(len(places))
                    near = off[rows, best] < OFF_LINE
                    if near.sum() > 2:
                        share = shares[best] + t[rows, best] * (shares[best + 1] - shares[best])
                        found.append((number, side, np.where(near, share, np.nan)))
        return found

    def told(self, line: int) -> Seam | None:
        """The true seam of a line as a person would name it, its own side first; None where it is free, or ends where nothing is marked."""
        members = self.classes.members[self.classes.root(line)]
        found = [(np.isfinite(share).sum(), -k, seam, side) for k in members for seam, side, share in self.own[k]]
        for _, _, seam, side in sorted(found, reverse=True):
            sides = self._drawn(seam, side), self._drawn(seam, 1 - side)
            if sides[0] and sides[1] and self.hits([sides])[0]:
                return sides
        return None

    def sewn(self, line: int) -> float:
        """The share of a line along which something is sewn to it."""
        return float((self.seam[line] >= 0).any(axis=1).mean())

    def _drawn(self, seam: int, side: int) -> tuple[Use, ...]:
        """A side of a true seam as it is walked over the lines; () where it ends at no mark."""
        found = []
        for line in self.classes.lines:
            for share in (share for number, end, share in self.own[line.index] if (number, end) == (seam, side)):
                at = np.flatnonzero(np.isfinite(share))
                if np.ptp(share[at]) < LEAST_SHARE or np.ptp(at) < LEAST_SHARE * STATIONS:
                    continue
                ends = at[[0, -1]] / STATIONS * line.length
                marks = [int(np.abs(np.array(line.marks) - end).argmin()) for end in ends]
                off = max(abs(line.marks[mark] - end) for mark, end in zip(marks, ends, strict=True))
                if marks[0] == marks[1] or off > OFF_MARK + line.length / STATIONS:
                    return ()
                last = len(line.marks) - 1
                back = share[at[0]] > share[at[-1]]
                use = Use(line.index, bool(back), marks[0], -1 if marks[1] == last else marks[1])
                found.append((float(share[at].mean()), use))
        return tuple(use for _, use in sorted(found, key=lambda one: one[0]))

    def _walk(self, side: tuple[Use, ...]) -> np.ndarray:
        """The line and the station number of places along a side, (SAMPLES, 2)."""
        lines = [self.classes.lines[use.line] for use in side]
        low, high = np.array([reach(use, line) for use, line in zip(side, lines, strict=True)]).T
        ends = np.cumsum(high - low)
        at = np.linspace(0.03, 0.97, SAMPLES) * ends[-1]
        on = np.searchsorted(ends[:-1], at)
        at = at - (ends - (high - low))[on]
        backwards = np.array([use.backwards for use in side])[on]
        length = np.maximum([line.length for line in lines], 1e-9)[on]
        share = np.where(backwards, high[on] - at, low[on] + at) / length
        stations = np.rint(np.clip(share, 0.0, 1.0) * STATIONS).astype(int)
        return np.stack([np.array([use.line for use in side])[on], stations], axis=1)

    def _each_sewn(self, seam: Seam, hit: dict[int, tuple[float, float]]) -> bool:
        """Whether every line of a row lies on one of the seams that it hits: none is there by being short."""
        return all(
            np.isin(self.seam[use.line, round(0.5 * sum(reach(use, self.classes.lines[use.line]))
                    / max(self.classes.lines[use.line].length, 1e-9) * STATIONS)], list(hit)).any()
            for side in seam if len(side) > 1 for use in side
        )  # fmt: skip

    def hits(self, seams: Sequence[Seam]) -> list[dict[int, tuple[float, float]]]:
        """For each proposed seam the true seams that it lies on, with the shares between which; none where it is wrong."""
        numbers: dict[tuple[Use, ...], int] = {}
        ends = np.array([[numbers.setdefault(side, len(numbers)) for side in sides] for sides in seams])
        walks = np.array([self._walk(side) for side in numbers])
        found: list[dict[int, tuple[float, float]]] = [{} for _ in seams]
        for k in range(0, len(seams), 512):
            a, b = walks[ends[k : k + 512].T]
            met = self._opposite(a[:, ::TRIED], b[:, ::TRIED]).any(axis=(-2, -1))
            some = np.flatnonzero((~met).sum(axis=1) <= MISSES)  # most candidates are wrong at a glance
            for n, hit in zip((some + k).tolist(), self._hits(a[some], b[some]), strict=True):
                if hit and self._each_sewn(seams[n], hit):
                    found[n] = hit
        return found

    def _opposite(self, a: np.ndarray, b: np.ndarray) -> np.ndarray:
        """Which truths of places (M, PLACES, 2) are the one side of a seam whose other side is there (M, PLACES, TRUTHS, TRUTHS)."""
        sa, sb = self.seam[a[..., 0], a[..., 1]], self.seam[b[..., 0], b[..., 1]]
        da, db = self.side[a[..., 0], a[..., 1]], self.side[b[..., 0], b[..., 1]]
        same = (sa[..., :, None] == sb[..., None, :]) & (sa[..., :, None] >= 0)
        return same & (da[..., :, None] != db[..., None, :])

    def _hits(self, a: np.ndarray, b: np.ndarray) -> list[dict[int, tuple[float, float]]]:
        sa = self.seam[a[..., 0], a[..., 1]]
        xa, xb = self.share[a[..., 0], a[..., 1]], self.share[b[..., 0], b[..., 1]]
        limit = self.limit[np.maximum(sa, 0)][..., :, None]
        opposite = self._opposite(a, b)
        fits = opposite & (np.abs(np.nan_to_num(xa)[..., :, None] - np.nan_to_num(xb)[..., None, :]) <= limit)
        # A seam that is right at both its ends is right between them, where a pleat or gathers shift what meets.
        ends = fits[:, [0, -1]].any(axis=-1).all(axis=1) & (sa[:, 0] == sa[:, -1])  # (M, true seams)
        throughout = opposite.any(axis=-1).all(axis=1) & (sa == sa[:, :1]).all(axis=1)
        fits |= opposite & (ends & throughout)[:, None, :, None]
        on = fits.any(axis=-1)  # (M, SAMPLES, true seams): which truths of the first side are met
        right = (~on.any(axis=-1)).sum(axis=-1) <= MISSES
        found: list[dict[int, tuple[float, float]]] = []
        for k, is_right in enumerate(right):
            got: dict[int, list[float]] = {}
            if is_right:
                for seam, share in zip(sa[k][on[k]], xa[k][on[k]], strict=True):
                    got.setdefault(int(seam), []).append(float(share))
            found.append({seam: (min(shares), max(shares)) for seam, shares in got.items() if len(shares) > 2})
        return found
