"""The stretches of outline that may be sewn, and what can be measured of them.

line   an edge as it is sewn: from one corner to the next, with the mouths of darts closed
side   what may be one half of a seam: a line, or several in a row
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from seamcheck.exact import snapped
from seamcheck.geometry.curve import Curve
from seamcheck.pairing.names import NameWords, words_of
from seamcheck.pattern.model import Edge, Piece

STEPS = 24  # places along a line at which its shape is compared with another's
NARROW = (
    305.0  # degrees: the outline turns back at the tip of a dart, so that it is at least this as an interior angle
)
DEEPER = 1.5  # a dart is at least this much longer than its mouth is wide


@dataclass(frozen=True, slots=True)
class DrawnDart:
    """A dart drawn into the outline: the edges of its two legs and its corners mouth, tip, mouth."""

    legs: tuple[int, int]
    corners: tuple[str, str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A stretch that may be sewn.

    Lengths in mm, angles in degrees. `bend` is how far the line turns, positive where it bulges out of the piece;
    `profile` how far it lies outside its chord at equal steps (None where darts interrupt it); `slant` is its
    chord against the grain, 0 along to 90 across, None without grain.
    """

    index: int
    piece: int
    name: str
    edges: tuple[str, ...]
    way: tuple[str, ...]  # its corners in order, those of closed darts included
    length: float
    notches: tuple[tuple[float, int], ...]
    angles: tuple[float, float]
    bend: float
    profile: npt.NDArray[np.float64] | None
    middle: complex
    chord: complex
    slant: float | None
    level: float | None = None  # where its middle lies on the piece along the grain, 0 and 1 at the ends
    fold: bool = False
    darts: int = 0
    rough: float = 0.0  # how far its length may be off because it is drawn in chords, in mm
    cuts: tuple[float, ...] = ()  # stations where another line may end that is sewn along part of it (`cuts`)
    straight: bool = field(init=False)  # whether it is as good as straight
    marks: tuple[float, ...] = field(init=False)  # where it may be parted: start, cuts, notches without darts, end

    def __post_init__(self) -> None:
        """Know what is often asked for."""
        object.__setattr__(
            self, "straight", self.profile is not None and self.sagitta <= max(0.004 * self.length, 0.4)
        )
        notches = () if self.darts else tuple(station for station, _ in self.notches)
        object.__setattr__(self, "marks", (0.0, *sorted((*notches, *self.cuts)), self.length))

    @property
    def start(self) -> str:
        """The corner it starts from, clockwise."""
        return self.way[0]

    @property
    def end(self) -> str:
        """The corner it ends at, clockwise."""
        return self.way[-1]

    @property
    def sagitta(self) -> float:
        """How far the line leaves its chord, in mm."""
        return 0.0 if self.profile is None else snapped(float(np.abs(self.profile).max()))

    @property
    def closed(self) -> bool:
        """Whether it runs all round its piece."""
        return self.start == self.end


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A piece as pairing sees it: its words, its lines clockwise, and which lines mirror which if it is symmetric."""

    index: int
    piece: Piece
    words: NameWords
    lines: tuple[int, ...]
    darts: tuple[DrawnDart, ...]
    mirror: dict[int, int] = field(default_factory=dict)

    @property
    def name(self) -> str:
        """The piece's name in the file."""
        return self.piece.name


def survey(pieces: Sequence[Piece]) -> tuple[tuple[Part, ...], tuple[Line, ...]]:
    """The parts and lines of the pieces of one size, in a fixed order."""
    lines: list[Line] = []
    parts = []
    for number, piece in enumerate(pieces):
        darts = _darts(piece)
        own = []
        for edges in _merged(piece, darts):
            line = _line(len(lines), number, piece, edges)
            lines.append(line)
            own.append(line)
        words = words_of(piece.name, (*piece.texts, *piece.labels.values()), piece.labels)
        mirror = _mirrored(own)
        parts.append(
            Part(
                index=number,
                piece=piece,
                words=words,
                lines=tuple(line.index for line in own),
                darts=darts,
                mirror=mirror,
            )
        )
    return tuple(parts), tuple(lines)


def _darts(piece: Piece) -> tuple[DrawnDart, ...]:
    """Narrow Vs inside an edge: two legs of about one length, and an edge that goes on behind them."""
    found = []
    edges, angle = piece.edges, {corner.name: corner.angle for corner in piece.corners}
    count = len(edges)
    for k in range(count if count > 3 else 0):
        first, second = edges[k], edges[(k + 1) % count]
        legs = first.length, second.length
        mouth = abs(second.runs[-1].end - first.runs[0].start)
        if angle[first.end] < NARROW or abs(legs[0] - legs[1]) > max(0.06 * max(legs), 8.0):
            continue
        if min(legs) < DEEPER * mouth or min(legs) < 15.0:
            continue
        if angle[first.start] > 170.0 or angle[second.end] > 170.0:
            continue
        found.append(DrawnDart((k, (k + 1) % count), (first.start, first.end, second.end)))
    return tuple(found)


def _merged(piece: Piece, darts: Sequence[DrawnDart]) -> list[list[int]]:
    """The edges of a piece, those before and behind a dart taken as one."""
    count = len(piece.edges)
    legs = {leg for dart in darts for leg in dart.legs}
    over = {dart.legs[0]: dart.legs[1] for dart in darts}
    free = [k for k in range(count) if k not in legs]
    goes_on = {(first - 1) % count: (last + 1) % count for first, last in over.items()}
    goes_on = {a: b for a, b in goes_on.items() if a in free and b in free and a != b}
    behind = set(goes_on.values())
    runs = []
    for k in free:
        if k in behind:
            continue
        run = [k]
        while run[-1] in goes_on and goes_on[run[-1]] not in run:
            run.append(goes_on[run[-1]])
        runs.append(run)
    return runs


def _line(index: int, number: int, piece: Piece, own: Sequence[int]) -> Line:
    edges = [piece.edges[k] for k in own]
    angle = {corner.name: corner.angle for corner in piece.corners}
    way: list[str] = [edges[0].start]
    notches: list[tuple[float, int]] = []
    along = 0.0
    for k, edge in enumerate(edges):
        if k:
            way += [_tip(piece, edges[k - 1], edge), edge.start]
        way.append(edge.end)
        notches += [(along + notch.station, notch.count) for notch in edge.notches]
        along += edge.length
    runs = [run for edge in edges for run in edge.runs]
    outward = 1.0 if piece.y_down else -1.0
    chord = runs[-1].end - runs[0].start
    middle = edges[len(edges) // 2].point(edges[len(edges) // 2].length / 2)
    fold = bool(piece.folds) and any(_along_fold(edge, piece) for edge in edges)
    return Line(
        index=index,
        piece=number,
        name=edges[0].name,
        edges=tuple(edge.name for edge in edges),
        way=tuple(way),
        length=along,
        notches=tuple(notches),
        angles=(angle.get(edges[0].start, 180.0), angle.get(edges[-1].end, 180.0)),
        bend=outward * sum(run.turning() for run in runs),
        profile=_profile(runs[0], outward) if len(runs) == 1 else None,
        middle=middle,
        chord=chord,
        slant=_slant(chord, piece),
        level=_level(middle, piece),
        fold=fold,
        darts=len(edges) - 1,
        rough=_rough(runs),
    )


def _rough(runs: Sequence[Curve]) -> float:
    """How far a length may be off that is measured along many chords: a chord is shorter than its arc, and ends are rounded."""
    pieces = sum(len(run.segments) for run in runs)
    length = sum(run.length for run in runs)
    return 0.08 if pieces > 8 and length / pieces < 12.0 else 0.0


def _tip(piece: Piece, before: Edge, after: Edge) -> str:
    names = [edge.name for edge in piece.edges]
    return piece.edges[(names.index(before.name) + 1) % len(names)].end


def _profile(run: Curve, outward: float) -> npt.NDArray[np.float64]:
    """How far a run lies outside its chord, at equal steps: a comparison of shapes, not a measurement of the seam."""
    points = run.points(np.linspace(0.0, run.length, STEPS + 1))
    chord = points[-1] - points[0]
    if abs(chord) < 1e-6:
        centre = points[:-1].mean()
        return np.asarray(np.abs(points - centre), dtype=np.float64)
    # On a clockwise outline the cloth lies to the right as seen; y down, that is to the left in the file's axes.
    return np.asarray(-outward * ((points - points[0]) / (chord / abs(chord))).imag, dtype=np.float64)


def _slant(chord: complex, piece: Piece) -> float | None:
    if not piece.grainlines or abs(chord) < 1e-6:
        return None
    grain = piece.grainlines[0].points[-1] - piece.grainlines[0].points[0]
    if abs(grain) < 1e-6:
        return None
    turn = snapped(abs(float(np.degrees(np.angle(chord / grain)))))
    return min(turn, 180.0 - turn)


def _level(at: complex, piece: Piece) -> float | None:
    """Where a point lies on a piece along the grain, 0 at the lower end as drawn (or either end of grain that lies flat)."""
    if not piece.grainlines:
        return None
    grain = piece.grainlines[0].points[-1] - piece.grainlines[0].points[0]
    if abs(grain) < 1e-6:
        return None
    if (grain.imag > 0) == piece.y_down:
        grain = -grain
    along = (piece.outline.polygon(1.0) * grain.conjugate()).real
    low, high = float(along.min()), float(along.max())
    return ((at * grain.conjugate()).real - low) / (high - low) if high > low else None


def _along_fold(edge: Edge, piece: Piece) -> bool:
    """Whether a fold line of the file lies along an edge."""
    places = [edge.point(edge.length * share) for share in (0.05, 0.5, 0.95)]
    return any(
        max(fold.nearest(at).distance for at in places[:2]) < 2.0 and fold.length > 0.4 * edge.length
        for fold in piece.folds
    )


def alike(a: Line, b: Line, *, flipped: bool, notched: bool) -> bool:
    """Whether two lines are one another's copy, or mirror image if `flipped`; `notched`: notches too."""
    if abs(a.length - b.length) > max(0.4, 2e-4 * a.length) or a.darts != b.darts:
        return False
    angles = b.angles[::-1] if flipped else b.angles
    if max(abs(x - y) for x, y in zip(a.angles, angles, strict=True)) > 0.8 or abs(a.bend - b.bend) > 2.5:
        return False
    if a.profile is not None and b.profile is not None:
        profile = b.profile[::-1] if flipped else b.profile
        if float(np.abs(a.profile - profile).max()) > max(0.5, 1e-3 * a.length):
            return False
    if not notched:
        return True
    if len(a.notches) != len(b.notches):
        return False
    mine = list(a.notches)
    theirs = [(b.length - s, c) for s, c in reversed(b.notches)] if flipped else list(b.notches)
    return all(abs(s - t) < 1.6 and c == d for (s, c), (t, d) in zip(mine, theirs, strict=True))


def _mirrored(own: Sequence[Line]) -> dict[int, int]:
    """Which line of a symmetric piece is which other's mirror image; empty when the piece is not symmetric."""
    matches = correspondences(own, own, flipped=True, notched=False)
    return matches[0] if matches else {}


def correspondences(
    mine: Sequence[Line], theirs: Sequence[Line], *, flipped: bool, notched: bool
) -> list[dict[int, int]]:
    """All ways in which one piece's lines are another's, going round (back if `flipped`), by line index."""
    count = len(mine)
    if count != len(theirs):
        return []
    found = []
    for turn in range(count):
        order = [(turn - k) % count if flipped else (turn + k) % count for k in range(count)]
        same = [alike(mine[k], theirs[order[k]], flipped=flipped, notched=notched) for k in range(count)]
        if all(same):
            found.append({mine[k].index: theirs[order[k]].index for k in range(count)})
    return found


class Use(NamedTuple):
    """A line, or a stretch of it between two of its marks, as it is walked in a side; `backwards` against the clock.

    The marks of a line are its start, its notches and cuts in order and its end; `low` and `high` number them, `high` -1 is the end.
    """

    line: int
    backwards: bool = False
    low: int = 0
    high: int = -1

    def turned(self) -> Use:
        """The same stretch walked the other way."""
        line, backwards, low, high = self
        return Use(line, not backwards, low, high)

    @property
    def whole(self) -> bool:
        """Whether it is the line from end to end."""
        return self.low == 0 and self.high == -1


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """One half of a possible seam, as it is walked. `angles` are 180 where it ends at a notch inside a line."""

    uses: tuple[Use, ...]
    length: float
    notches: tuple[tuple[float, int], ...]
    joints: tuple[float, ...]
    angles: tuple[float, float]
    bend: float
    profile: npt.NDArray[np.float64] | None
    straight: bool


def side_of(uses: Sequence[Use], lines: Sequence[Line]) -> Side:
    """What can be measured of lines walked one after the other."""
    along = 0.0
    notches: list[tuple[float, int]] = []
    joints: list[float] = []
    for use in uses:
        line = lines[use.line]
        low, high = reach(use, line)
        inside = [(s, c) for s, c in line.notches if low + 0.01 < s < high - 0.01]
        stations = [(high - s, c) if use.backwards else (s - low, c) for s, c in inside]
        notches += sorted((along + s, c) for s, c in stations)
        along += high - low
        joints.append(along)
    only = lines[uses[0].line]
    profile = None
    if len(uses) == 1 and uses[0].whole and only.profile is not None:
        profile = only.profile[::-1] if uses[0].backwards else only.profile
    return Side(
        uses=tuple(uses),
        length=along,
        notches=tuple(notches),
        joints=tuple(joints[:-1]),
        angles=(end_angle(uses[0], lines, last=False), end_angle(uses[-1], lines, last=True)),
        bend=sum(lines[use.line].bend for use in uses),
        profile=profile,
        straight=all(lines[use.line].straight for use in uses),
    )


def reach(use: Use, line: Line) -> tuple[float, float]:
    """The stations, clockwise, between which a use runs, in mm."""
    marks = line.marks
    return marks[use.low], marks[use.high]


def end_angle(use: Use, lines: Sequence[Line], *, last: bool) -> float:
    """The angle of cloth where a use starts, or ends if `last`: of the corner, or 180 inside the line."""
    line = lines[use.line]
    at_end = last != use.backwards
    if at_end:
        return line.angles[1] if use.high == -1 else 180.0
    return line.angles[0] if use.low == 0 else 180.0


def atoms(use: Use, line: Line) -> frozenset[tuple[int, int]]:
    """The stretches between neighbouring marks that a use takes up."""
    high = len(line.marks) - 1 if use.high == -1 else use.high
    return frozenset((line.index, k) for k in range(use.low, high))
