"""What a pattern is.

A `Pattern` holds `Piece`s; a piece in one size is a closed outline cut into `Edge`s at its `Corner`s, with
notches, grainlines, darts and labels. Everything is frozen; lengths in mm, angles in degrees, points are
complex numbers in the file's own axes. Outlines run clockwise as the file is seen.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np

from seamcheck.amounts import Phrase, count
from seamcheck.exact import EXACT, least, snapped, snapped_point
from seamcheck.geometry.curve import Curve
from seamcheck.geometry.end_directions import SURE, along_at
from seamcheck.geometry.exact_arrays import median_of, snapped_all
from seamcheck.geometry.kept import Measured, kept
from seamcheck.geometry.traced_length import ENDS
from seamcheck.pattern.drawing import Ledger, LengthSource, LineMark, Note, Role, ScaleReading
from seamcheck.pattern.second_reading import SecondReading
from seamcheck.places import NOWHERE, Place
from seamcheck.spelling import UnknownNameError, by_name

UNSIZED = "as drawn"


@dataclass(frozen=True, slots=True)
class Corner:
    """A point where one edge ends and the next begins; `angle` is the interior angle on the sew line.

    `notches` counts the notches that mark it: they lie at the ends of its edges, and on none of them.
    `uncertainty` is by how many degrees it may be off because the lines there are noisy chords.
    """

    name: str
    at: complex
    angle: float
    station: float
    named: bool = False
    notches: int = field(default=0, compare=False)
    uncertainty: float = 0.0


Tick = tuple[complex, complex]  # a straight mark from end to end, in either direction


@dataclass(frozen=True, slots=True)
class Notch:
    """A mark on an edge. `station` is its distance along the sew line from the edge's start, darts and pleats closed.

    `ticks` are the straight marks it is drawn with; none where the file gives only its place.
    """

    at: complex
    station: float
    count: int = 1
    why: str = field(default="", compare=False)  # what makes it a notch
    ticks: tuple[Tick, ...] = field(default=(), compare=False)
    place: Place = field(default=NOWHERE, compare=False)  # of the first mark that it is made of


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge(Measured):
    """A stretch of outline between two corners, in walking order.

    `runs` are the stretches that are sewn: one curve, or several where mouths of darts and pleats are skipped. `breaks` are
    the names of the corners of those mouths, one pair for each gap between runs. `inner` are the corners that
    belong to the edge without ending it, with their stations. Where the chords of a traced line go to and fro beside their
    curve by `noise` mm, what is sewn is `smoothing` times as long as they are, and stations are along the curve.
    """

    name: str
    start: str
    end: str
    runs: tuple[Curve, ...]
    notches: tuple[Notch, ...] = ()
    breaks: tuple[tuple[str, str], ...] = ()
    inner: tuple[tuple[str, float], ...] = ()
    source: LengthSource = LengthSource.DRAWN
    chord_difference: float = 0.0
    smoothing: float = 1.0
    noise: float = 0.0
    named: bool = False
    forward: bool = True  # walked clockwise, as the outline runs
    inside: bool = False  # drawn inside the piece, not part of its outline

    def __repr__(self) -> str:
        """Return one line."""
        return f"<Edge {self.name}: {self.length:.1f} mm, {count(len(self.notches), 'notch', 'notches')}>"

    @property
    def length(self) -> float:
        """The length that is sewn, in mm."""
        return sum(self.run_lengths)

    @property
    def run_lengths(self) -> tuple[float, ...]:
        """The sewn length of each run, in mm."""
        lengths = [snapped(run.length) for run in self.runs]
        return tuple(lengths) if self.smoothing == 1.0 else tuple(snapped(one * self.smoothing) for one in lengths)

    @property
    def uncertainty(self) -> float:
        """By how many mm its length may be off: both its ends are vertices that noise put beside their places."""
        return ENDS * self.noise

    def point(self, station: float) -> complex:
        """The point at a distance along the sewn runs; stations outside are clamped to the ends."""
        run, station = self._run_at(station)
        return snapped_point(run.point(station))

    def station_nearest(self, point: complex) -> float:
        """The station in mm of the place on the sewn runs that is nearest to a point."""
        covered, found = 0.0, []
        for run in self.runs:
            near = run.nearest(point)
            found.append((near.distance, covered + near.station))
            covered += run.length
        return least(found, key=lambda one: one[0])[1] * self.smoothing

    def _run_at(self, station: float) -> tuple[Curve, float]:
        """The run at a distance along the sewn runs, and the station on it as it is drawn."""
        station /= self.smoothing
        for run in self.runs[:-1]:
            if station <= run.length + EXACT:
                return run, station
            station -= run.length
        return self.runs[-1], station

    @kept
    def direction(self, station: float) -> tuple[complex, float]:
        """The unit direction of the line that is meant at a distance along it, and by how many degrees it may be off.

        Where the line is drawn in chords it is that of the curve which they sample.
        """
        found = along_at(*self._run_at(station))
        return (self.tangent(station), 0.0) if found is None else (found.heading, SURE * found.error)

    def tangent(self, station: float) -> complex:
        """The direction of the sewn line at a distance along it: the middle of those before and behind, as a unit."""
        run, station = self._run_at(station)
        along = run.tangent(station, side=-1) + run.tangent(station, side=1)
        return along / abs(along) if abs(along) > 1e-9 else run.tangent(station, side=1)


def usual_noise(edges: Iterable[Edge]) -> float:
    """The middle one of the noises of those edges that show any, in mm; 0 where none does."""
    shown = [edge.noise for edge in edges if edge.noise]
    return median_of(shown) if shown else 0.0


@dataclass(frozen=True, slots=True)
class Grainline:
    """A grain arrow: its vertices from tail to head, as drawn."""

    points: tuple[complex, ...]
    why: str = field(default="", compare=False)  # what makes it a grainline
    place: Place = field(default=NOWHERE, compare=False)

    @property
    def length(self) -> float:
        """The length along the arrow in mm."""
        return float(snapped_all(np.abs(np.diff(np.asarray(self.points)))).sum())

    @property
    def angle(self) -> float:
        """The direction from end to end in the file's axes, in degrees from 0 up to but not including 180."""
        return snapped(float(np.degrees(np.angle(self.points[-1] - self.points[0])))) % 180.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Dart:
    """Two legs and a tip. `corners` are mouth, tip, mouth in outline order; both legs run from mouth to tip."""

    corners: tuple[str, str, str]
    points: tuple[complex, complex, complex]
    legs: tuple[Curve, Curve]

    @property
    def intake(self) -> float:
        """The width of the mouth in mm."""
        return abs(self.points[2] - self.points[0])


@dataclass(frozen=True, slots=True, kw_only=True)
class Pleat:
    """Two fold lines that are laid on one another. `corners` are where they meet the edge; both lines run inwards from there.

    Where the file draws no fold lines they run straight in, and `drawn` is False.
    """

    corners: tuple[str, str]
    folds: tuple[Curve, Curve]
    drawn: bool

    @property
    def depth(self) -> float:
        """How much of the edge is folded away, in mm."""
        return abs(self.folds[1].start - self.folds[0].start)


@dataclass(frozen=True, slots=True, kw_only=True)
class InsideLine:
    """A line drawn within a piece.

    `role` is what the file says it is for, None where nothing but its place tells. `what` is what a closed line was taken
    for: "placement line", "hole" or "second outline". `names` are the names it bears: its label, then its layer.
    """

    curve: Curve
    role: Role | None = None
    what: str = ""
    names: tuple[str, ...] = ()
    place: Place = NOWHERE


class TakenFor(NamedTuple):
    """What marks of a piece were taken for, why, and how many of them."""

    what: str
    why: str
    times: int = 1

    @property
    def told(self) -> str:
        """Why, with how often it holds where that is more than once: "layer 13 (2 of them)"."""
        return self.why if self.times == 1 else f"{self.why} ({self.times} of them)"

    def __str__(self) -> str:
        """All of it: "drill hole: layer 13 (2 of them)"."""
        return f"{self.what}: {self.told}" if self.told else self.what


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece(Measured):
    """One shape to cut, in one size.

    `outline` is the closed line that seams are walked on, `drawn` the one in the file; they are the same object
    unless the sew line had to be found from a cut line. `line` says which line `drawn` is: "sew", "cut", or
    "unknown" where neither file nor plan tells.
    """

    name: str
    in_file: str
    size: str
    line: str
    outline: Curve
    drawn: Curve
    corners: tuple[Corner, ...]
    edges: tuple[Edge, ...]
    y_down: bool
    grainlines: tuple[Grainline, ...] = ()
    darts: tuple[Dart, ...] = ()
    pleats: tuple[Pleat, ...] = ()
    folds: tuple[Curve, ...] = ()
    inside: tuple[InsideLine, ...] = ()
    drill_holes: tuple[complex, ...] = ()
    stray_notches: tuple[complex, ...] = ()
    gap: float = 0.0  # the widest gap that was bridged to close the outline, in mm
    labels: Mapping[str, str] = field(default_factory=dict)
    texts: tuple[str, ...] = ()
    reasons: tuple[TakenFor, ...] = ()
    unsure: Mapping[str, Phrase] = field(default_factory=dict)  # plan corners without a place, and why
    lost_edges: Mapping[str, Phrase] = field(default_factory=dict)  # plan edges that could not be drawn, and why
    swallowed: frozenset[str] = frozenset()  # those of them that the allowances leave nothing of
    notes: tuple[Note, ...] = ()  # what should be said about how its sew line was found
    place: Place = NOWHERE
    members: tuple[LineMark, ...] = field(default=(), compare=False, repr=False)  # the lines its outline is made of
    fold_places: tuple[Place, ...] = field(default=(), compare=False, repr=False)  # of `folds`
    hole_places: tuple[Place, ...] = field(default=(), compare=False, repr=False)  # of `drill_holes`

    def __repr__(self) -> str:
        """Return one line."""
        return f"<Piece {self.name}: size {self.size}, {count(len(self.edges), 'edge')}>"

    @property
    def noise(self) -> float:
        """By how many mm its vertices usually lie beside their places, where it is traced by hand; else 0."""
        return usual_noise(self.edges)

    @property
    def internals(self) -> tuple[Curve, ...]:
        """The lines drawn within the piece, whatever they are for."""
        return tuple(line.curve for line in self.inside)

    def edge(self, name: str) -> Edge:
        """The edge of that name; UnknownNameError, a KeyError that names the nearest, when the piece has none."""
        return by_name(self.edges, name, f"piece {self.name}", "edge")

    def corner(self, name: str) -> Corner:
        """The corner of that name; UnknownNameError, a KeyError that names the nearest, when the piece has none."""
        return by_name(self.corners, name, f"piece {self.name}", "corner")


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenOutline:
    """A line that was meant to be a piece and does not close: its ends and the gap between them, in mm."""

    name: str
    size: str
    ends: tuple[complex, complex]
    gap: float
    place: Place


@dataclass(frozen=True, slots=True, kw_only=True)
class Unused:
    """A drawn line that is in no piece: its length, why, and how far it lies from the nearest piece ("" where there is none), in mm.

    `weight` is "piece" for one of piece size, "near" for one near an outline that nothing calls something else, else "".
    """

    length: float
    closed: bool
    why: str
    piece: str
    distance: float
    weight: str
    at: complex
    place: Place


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern:
    """All pieces of one file in all sizes, in a stable order: by size as the file lists them, then by name."""

    path: str
    name: str
    format: str
    units: str
    y_down: bool
    sizes: tuple[str, ...]
    pieces: tuple[Piece, ...]
    open_outlines: tuple[OpenOutline, ...] = ()
    notes: tuple[Note, ...] = ()
    scale: tuple[ScaleReading, ...] = ()
    ledger: Ledger = field(default_factory=Ledger)
    unused: tuple[Unused, ...] = ()  # lines that are in no piece, worst first
    second: SecondReading | None = None  # how a second reader agrees, where one was asked

    def __repr__(self) -> str:
        """Return one line."""
        pieces = len({piece.name for piece in self.pieces})
        return f"<Pattern {self.name}: {count(pieces, 'piece')}, {count(len(self.sizes), 'size')}>"

    def in_size(self, size: str) -> tuple[Piece, ...]:
        """The pieces of one size."""
        return tuple(piece for piece in self.pieces if piece.size == size)

    def piece(self, name: str, size: str | None = None) -> Piece:
        """The piece of that name in one size; the size may be left out where the piece is there in one alone.

        UnknownNameError, a KeyError that names the nearest, when there is no such piece or size; ValueError when the size
        must be told.
        """
        if size is not None and size not in self.sizes:
            raise UnknownNameError("the pattern", "size", size, self.sizes)
        pieces = self.pieces if size is None else self.in_size(size)
        found = by_name(pieces, name, "the pattern" if size is None else f"size {size} of the pattern", "piece")
        sizes = [piece.size for piece in pieces if piece.name == name]
        if len(sizes) > 1:
            raise ValueError(f"piece {name} is there in {len(sizes)} sizes; say which: {', '.join(sizes)}")
        return found
