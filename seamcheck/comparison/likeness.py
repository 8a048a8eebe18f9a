"""How like two pieces are in form, whatever their size and however they lie, and which places of their outlines answer to each other.

Outlines are laid on each other by their correlation at equal steps: the best turn and start in closed form, by Fourier
transforms. Their corners are then told from each other in order round the outline, by place, angle, length and direction; a
corner that one of them has and the other has not is passed over. The weights are from trial, no source.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from seamcheck.exact import EXACT
from seamcheck.pattern.model import Piece

STEPS = 96  # places of an outline
WAYS = 4  # ways of laying one outline on another that get a closer look
NEARLY = 0.12  # how much worse than the best they may be
PLACE = 0.09  # share of a piece's radius that a corner is off at the cost of log 2
ANGLE = 28.0  # degrees that a corner is off at the cost of 1
LENGTH = 0.3  # logarithm of the ratio of lengths between two corners at the cost of 1
MOST = 2.5  # cost of any one of them
MISFIT = 20.0  # cost of a misfit of 1
NOTCH = 0.02  # share of the way round by which notches may be off that meet
BACK = 7  # corners that are passed over in a row, and one more
OVER = (0.4, 2.4)  # what it costs to pass over a corner: one that is straight, one that is square or sharper
TURNED_OVER = 0.02  # what it costs that a piece is turned over, and that it is turned by more than a quarter
TURNED = 0.01
AS_LONG = 2.0  # times that one edge may be as long as the other, beyond the ratio of their pieces
DIRECTION = 30.0  # degrees by which the chord of an edge may be turned
BEND = 45.0  # degrees by which an edge may turn more

Points: TypeAlias = npt.NDArray[np.complex128]
Reals: TypeAlias = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Form:
    """A piece as it is compared: seen with y down, its middle at 0 and its radius 1."""

    piece: Piece

    @cached_property
    def _laid(self) -> tuple[complex, float, Points]:
        outline = self.piece.outline
        points = outline.points(np.linspace(0.0, outline.length, STEPS + 1)[:-1])
        points = points if self.piece.y_down else points.conj()
        middle = complex(points.mean())
        radius = max(float(np.sqrt((np.abs(points - middle) ** 2).mean())), EXACT)
        return middle, radius, (points - middle) / radius

    @property
    def radius(self) -> float:
        """Root mean square distance of the outline from its middle, in mm."""
        return self._laid[1]

    @property
    def points(self) -> Points:
        """The outline at equal steps, clockwise."""
        return self._laid[2]

    @cached_property
    def radii(self) -> tuple[float, float]:
        """The wide and the narrow radius of gyration of the outline, in mm."""
        skew = abs(complex((self.points**2).mean()))
        wide, narrow = (self.radius * float(np.sqrt(max(one, 1e-6) / 2)) for one in (1.0 + skew, 1.0 - skew))
        return wide, narrow

    def marks(self, *, over: bool) -> list[float]:
        """The notches, as shares of the way round; turned over, they are met the other way round."""
        outline = self.piece.outline
        shares = [
            outline.nearest(one.at).station / outline.length for edge in self.piece.edges for one in edge.notches
        ]
        return [-share % 1.0 if over else share for share in shares]

    def places(self, *, over: bool) -> list[Place]:
        """The corners in order round the outline; turned over, they are met the other way round."""
        middle, radius, _ = self._laid
        length, found = self.piece.outline.length, []
        for number, corner in enumerate(self.piece.corners):
            at = ((corner.at if self.piece.y_down else corner.at.conjugate()) - middle) / radius
            share = corner.station / length
            found.append(Place(number, -share % 1.0 if over else share, at.conjugate() if over else at, corner.angle))
        return sorted(found, key=lambda one: (one.share, one.number))


@dataclass(frozen=True, slots=True)
class Place:
    """A corner of a form: its number, its share of the way round, where it lies, its angle in degrees."""

    number: int
    share: float
    at: complex
    angle: float

    @property
    def over(self) -> float:
        """What it costs to pass it over."""
        return OVER[0] + (OVER[1] - OVER[0]) * min(abs(180.0 - self.angle) / 60.0, 1.0)


@dataclass(frozen=True, slots=True)
class Laid:
    """A way in which one form lies on another: turned over, turned by `turn`, its start at `share` of the other's way round."""

    over: bool
    turn: complex
    share: float
    misfit: float


def ways(one: Form, other: Form) -> list[Laid]:
    """The ways in which a form may lie on another, the best first; `misfit` is 0 where they are the same, whatever their sizes."""
    there = np.fft.fft(other.points)
    found = []
    for over in (False, True):
        mine = np.roll(one.points.conj()[::-1], 1) if over else one.points
        turns = np.fft.ifft(there * np.fft.fft(mine).conj()) / STEPS  # by how many steps the other's start lies ahead
        fit = np.abs(turns)
        for step in np.flatnonzero((fit >= np.roll(fit, 1)) & (fit >= np.roll(fit, -1)) & (fit > 0.5)).tolist():
            turn = complex(turns[step] / fit[step])
            misfit = float(np.sqrt(max(2.0 - 2.0 * fit[step], 0.0)))
            misfit += TURNED_OVER * over + TURNED * (turn.real < 0.0)
            found.append(Laid(over, turn, step / STEPS, round(misfit, 9)))
    found.sort(key=lambda way: (way.misfit, way.over, way.share))
    return [way for way in found if way.misfit < found[0].misfit + NEARLY][:WAYS]


@dataclass(frozen=True, slots=True)
class Answering:
    """Which place of another's outline answers to each corner of a piece.

    `stations` are in mm along the other's outline, `corners` the numbers of its corners that are met there; a sharp
    corner to which none answers is in neither. `misfit` is of the forms, `cost` of the corners and notches too.
    """

    over: bool
    stations: Mapping[str, float]
    corners: Mapping[str, int]
    misfit: float
    cost: float


def answering(one: Form, other: Form) -> list[Answering]:
    """The ways in which corners of a piece are found again on another's outline, the one that fits best first."""
    found = [_answering(one, other, way) for way in ways(one, other)]
    return sorted(found, key=lambda answer: round(answer.cost, 6))


def _answering(one: Form, other: Form, way: Laid) -> Answering:
    mine, theirs = one.places(over=way.over), other.places(over=False)
    mine = [Place(a.number, (a.share + way.share) % 1.0, a.at * way.turn, a.angle) for a in mine]
    cost, pairs = _round(mine, theirs)
    length = other.piece.outline.length
    names = [one.piece.corners[place.number].name for place in mine]
    if not pairs:
        # Where the other has no corner none tells where its outline begins.
        whole = {} if theirs else {name: place.share * length for name, place in zip(names, mine, strict=True)}
        return Answering(way.over, whole, {}, way.misfit, cost if theirs else 0.0)
    met = [(mine[i].share, theirs[j].share) for i, j in pairs]
    stations = {names[i]: theirs[j].share * length for i, j in pairs}
    for name, place in zip(names, mine, strict=True):
        if name not in stations and abs(180.0 - place.angle) < ANGLE:
            stations[name] = _between_met(place.share, met) * length
    marks = [_between_met((share + way.share) % 1.0, met) for share in one.marks(over=way.over)]
    cost = cost / max(len(mine), 1) + MISFIT * way.misfit + _unmet(marks, other.marks(over=False))
    return Answering(way.over, stations, {names[i]: theirs[j].number for i, j in pairs}, way.misfit, cost)


def _between_met(share: float, met: Sequence[tuple[float, float]]) -> float:
    """The share of the other's way round that lies as far between two corners that meet."""
    k = min(range(len(met)), key=lambda k: round((share - met[k][0]) % 1.0, 9))
    (a, b), (c, d) = met[k], met[(k + 1) % len(met)]
    return (b + ((d - b) % 1.0 or 1.0) * ((share - a) % 1.0) / ((c - a) % 1.0 or 1.0)) % 1.0


def _unmet(mine: Sequence[float], theirs: Sequence[float]) -> float:
    """What it costs that notches do not meet; nothing where one of the two has none."""
    if not mine or not theirs:
        return 0.0
    apart = np.abs(np.array(mine)[:, None] - np.array(theirs))
    apart = np.minimum(apart, 1.0 - apart)
    off = np.minimum(np.concatenate([apart.min(axis=0), apart.min(axis=1)]) / NOTCH, 1.0)
    return float(off.mean())


def _ahead(a: Place, b: Place) -> float:
    return (b.share - a.share) % 1.0 or 1.0


def _met(a: Place, b: Place) -> float:
    angle = min(((a.angle - b.angle) / ANGLE) ** 2, MOST)
    return float(np.log1p((abs(a.at - b.at) / PLACE) ** 2)) + angle


def _between(a: Place, b: Place, c: Place, d: Place) -> float:
    """What it costs that the way from a to b answers to that from c to d."""
    ratio = min((float(np.log(_ahead(c, d) / _ahead(a, b))) / LENGTH) ** 2, MOST)
    own, there = b.at - a.at, d.at - c.at
    if abs(own) < EXACT or abs(there) < EXACT:
        return ratio
    turn = abs(float(np.degrees(np.angle(there / own))))
    return ratio + min((turn / DIRECTION) ** 2, MOST)


def _round(mine: Sequence[Place], theirs: Sequence[Place]) -> tuple[float, list[tuple[int, int]]]:
    """The cheapest way round both outlines at once: what it costs, and the corners that meet, in order."""
    nothing: tuple[float, list[tuple[int, int]]] = sum(place.over for place in (*mine, *theirs)), []
    if not mine or not theirs:
        return nothing
    met = [[_met(a, b) for b in theirs] for a in mine]
    starts = sorted((round(cost, 6), i, j) for i, row in enumerate(met) for j, cost in enumerate(row))[:2]
    rounds = [_from(mine, theirs, met, i, j) for _, i, j in starts]
    return min([nothing, *rounds], key=lambda one: round(one[0], 6))


def _from(
    mine: Sequence[Place], theirs: Sequence[Place], met: Sequence[Sequence[float]], first: int, start: int
) -> tuple[float, list[tuple[int, int]]]:
    """The cheapest way round from two corners that meet."""
    n, m = len(mine), len(theirs)
    rows = [(first + k) % n for k in range(n + 1)]
    columns = [(start + k) % m for k in range(m + 1)]
    passed = [[0.0], [0.0]]
    for order, places, own in ((rows, mine, passed[0]), (columns, theirs, passed[1])):
        for k in order:
            own.append(own[-1] + places[k].over)
    best = {(0, 0): (met[first][start], (0, 0))}
    for i in range(1, n + 1):
        for j in range(1, m + 1):
            if (i == n) != (j == m):
                continue
            here = 0.0 if i == n else met[rows[i]][columns[j]]
            options = []
            for x in range(max(i - BACK, 0), i):
                for y in range(max(j - BACK, 0), j):
                    if (x, y) not in best:
                        continue
                    over = passed[0][i] - passed[0][x + 1] + passed[1][j] - passed[1][y + 1]
                    ends = mine[rows[x]], mine[rows[i]], theirs[columns[y]], theirs[columns[j]]
                    options.append((best[x, y][0] + here + over + _between(*ends), (x, y)))
            if options:
                best[i, j] = min(options)
    if (n, m) not in best:
        return float("inf"), []
    cost, at = best[n, m]
    pairs = [at]
    while at != (0, 0):
        at = best[at][1]
        pairs.append(at)
    return cost, [(rows[i], columns[j]) for i, j in reversed(pairs)]


def same_course(one: Piece, other: Piece, edge: str, *, ratio: float, over: bool) -> bool:
    """Whether two pieces have an edge that runs alike, the other being `ratio` times as large: about as long, turning as much."""
    own, there = one.edge(edge), other.edge(edge)
    if not own.runs or not there.runs or min(own.length, there.length) < EXACT:
        return False
    longer = abs(float(np.log(there.length / own.length / ratio)))
    mine, theirs = (
        sum(run.turning() for run in edge.runs) * (1.0 if piece.y_down else -1.0)
        for piece, edge in ((one, own), (other, there))
    )
    return longer < float(np.log(AS_LONG)) and abs(theirs - (-mine if over else mine)) < BEND
