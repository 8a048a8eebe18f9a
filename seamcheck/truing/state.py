"""A pattern in one size while it is being trued: its shapes, what they are read as, and what the checks say of it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from seamcheck.checks.base import Check
from seamcheck.config.settings import Settings
from seamcheck.engine.judge import judge
from seamcheck.engine.result import FileResult
from seamcheck.exact import least
from seamcheck.geometry.curve import Affine, Curve, Nearest
from seamcheck.geometry.kept import kept
from seamcheck.pattern.model import Grainline, InsideLine, Pattern, Piece
from seamcheck.pattern.plan import PiecePlan, Plan
from seamcheck.pattern.seam_graph import SeamGraph, build_graph
from seamcheck.pattern.walk import Walk, walk_seams
from seamcheck.pieces.build import Order, build_piece
from seamcheck.pieces.markings import ShapeNotch
from seamcheck.pieces.outline import Shape
from seamcheck.truing.cut_lines import CutLine


@dataclass(frozen=True, slots=True)
class Judges:
    """What a pattern is judged by."""

    plan: Plan
    checks: tuple[Check, ...]
    settings: Settings


@dataclass(frozen=True, slots=True)
class Replacement:
    """A new line for the stretch of an outline from one station clockwise to another, in mm."""

    start: float
    end: float
    curve: Curve


@dataclass(frozen=True, kw_only=True, eq=False)
class State:
    """One size of a pattern. `shapes` and `plans` go by the names of the pieces; one that the plan does not name has no plan."""

    pattern: Pattern
    size: str
    shapes: Mapping[str, Shape]
    plans: Mapping[str, PiecePlan]
    judges: Judges
    trails: Mapping[str, Callable[[float], float]] = field(
        default_factory=dict
    )  # where stations of old outlines are now
    cuts: Mapping[str, CutLine] = field(
        default_factory=dict
    )  # of pieces that the file draws it of, where it can follow

    @cached_property
    def pieces(self) -> dict[str, Piece]:
        """The pieces by name."""
        return {piece.name: piece for piece in self.pattern.pieces}

    @cached_property
    def graph(self) -> SeamGraph:
        """The seams and junctions as they stand."""
        return build_graph(self.pieces, self.judges.plan)

    @cached_property
    def walks(self) -> tuple[Walk, ...]:
        """The seams walked."""
        return walk_seams(self.graph)

    @cached_property
    def judged(self) -> FileResult:
        """What all checks say."""
        by = self.judges
        return judge(self.pattern, by.plan, by.checks, by.settings, walked={self.size: (self.graph, self.walks)})

    def with_lines(self, name: str, replacements: Sequence[Replacement]) -> State:
        """The pattern with stretches of one piece's outline redrawn; what is on them goes along.

        ValueError where new lines do not join, or where a cut line cannot be drawn round them.
        """
        shape, plan = self.shapes[name], self.plans.get(name)
        outline, moved = spliced(shape.outline, replacements)
        inside = [(new.start, shape.outline.length, new) for new in replacements]

        def within(station: float) -> bool:
            return any(
                1e-6 < (station - start) % total < (new.end - start) % total - 1e-6 for start, total, new in inside
            )

        def along(point: complex) -> complex:
            """Where a point of the old line is on the new one."""
            near = _near(shape.outline, point)
            return point + (outline.point(moved(near.station)) - near.point)

        new_shape = replace(
            shape,
            outline=outline,
            corners=tuple(sorted(moved(s) for s in shape.corners if not within(s))),
            turn_points=tuple(along(p) for p in shape.turn_points if not within(_near(shape.outline, p).station)),
            notches=tuple(moved_notch(n, shape.outline, outline, moved(n.station)) for n in shape.notches),
            smoothed=None,
        )
        corners = {
            corner: along(at) if _near(shape.outline, at).distance < ON_LINE else at
            for corner, at in (plan.corners if plan is not None else {}).items()
        }
        return self.laid_anew(name, new_shape, corners, moved)

    def laid_anew(
        self,
        name: str,
        shape: Shape,
        corners: Mapping[str, complex],
        moved: Callable[[float], float],
        edges: Mapping[str, tuple[str, ...]] | None = None,
    ) -> State:
        """The pattern with another shape of one piece; `moved` tells where a station of the old outline is on the new one.

        `edges` are given where they run past other corners than before.         The cut line is drawn round it where there is one that follows. ValueError where that cannot be.
        """
        old = self.shapes[name]
        cut = self.cuts[name].beside(old.outline, shape.outline, moved) if name in self.cuts else None
        if cut is None and name in self.cuts:
            raise ValueError("the cut line cannot be drawn round the new sew line")
        if cut is not None:
            shape = replace(shape, other=cut.curve)
        before = self.trails.get(name)
        trail = moved if before is None else lambda station: moved(before(station))
        plan = self.plans.get(name)
        if plan is not None:
            plan = replace(plan, corners=corners, edges=plan.edges if edges is None else edges)
        drawn = self._with(name, shape, plan)
        cuts = self.cuts if cut is None else {**self.cuts, name: cut}
        return replace(drawn, trails={**self.trails, name: trail}, cuts=cuts)

    def with_notches(self, name: str, moves: Mapping[float, float]) -> State:
        """The pattern with notches of one piece moved along its outline, from station to station."""
        shape = self.shapes[name]
        outline = shape.outline
        notches = []
        for notch in shape.notches:
            to = next((new for old, new in moves.items() if abs(old - notch.station) < 1e-6), notch.station)
            notches.append(moved_notch(notch, outline, outline, to % outline.length))
        return self._with(name, replace(shape, notches=tuple(notches)), self.plans.get(name))

    def with_notch_turned(self, name: str, at: complex, degrees: float) -> State:
        """The pattern with the strokes of the notch of one piece that is nearest to a point turned where it stands."""
        shape = self.shapes[name]
        nearest = least(shape.notches, key=lambda notch: abs(notch.at - at))
        turn = Affine.rotation(degrees, about=nearest.at)
        ticks = tuple((complex(turn.apply(a)), complex(turn.apply(b))) for a, b in nearest.ticks)
        notches = tuple(replace(notch, ticks=ticks) if notch is nearest else notch for notch in shape.notches)
        return self._with(name, replace(shape, notches=notches), self.plans.get(name))

    def with_grain(self, name: str, grainlines: tuple[Grainline, ...]) -> State:
        """The pattern with other grain arrows on one piece."""
        return self._with(name, replace(self.shapes[name], grainlines=grainlines), self.plans.get(name))

    def with_inside(self, name: str, lines: tuple[InsideLine, ...]) -> State:
        """The pattern with other lines within one piece."""
        shape = self.shapes[name]
        return self if lines == shape.inside else self._with(name, replace(shape, inside=lines), self.plans.get(name))

    def _with(self, name: str, shape: Shape, plan: PiecePlan | None) -> State:
        darts = [dart for dart in self.judges.plan.darts if dart.piece == name]
        pleats = [pleat for pleat in self.judges.plan.pleats if pleat.piece == name]
        new = build_piece(Order(shape, plan, darts, pleats))
        old = self.pieces[name]
        new = replace(new, name=name, line=old.line, notes=old.notes)
        pieces = tuple(new if piece.name == name else piece for piece in self.pattern.pieces)
        return replace(
            self,
            pattern=replace(self.pattern, pieces=pieces),
            shapes={**self.shapes, name: shape},
            plans=self.plans if plan is None else {**self.plans, name: plan},
        )


@kept
def _near(outline: Curve, at: complex) -> Nearest:
    """The point of an outline that lies nearest to a corner of the plan, which every trial asks for."""
    return outline.nearest(at)


def moved_notch(notch: ShapeNotch, old: Curve, new: Curve, station: float) -> ShapeNotch:
    """A notch with its strokes, moved along its line or with it and turned as the line is turned there."""
    if old is new and station == notch.station:
        return notch
    here, there = old.point(notch.station), new.point(station)
    turn = new.tangent(station) / old.tangent(notch.station)

    def moved(point: complex) -> complex:
        return there + (point - here) * turn

    ticks = tuple((moved(a), moved(b)) for a, b in notch.ticks)
    return replace(notch, at=moved(notch.at), station=station, ticks=ticks)


ON_LINE = 0.5  # mm: how near the outline a plan corner must be to go along with it


def spliced(outline: Curve, replacements: Sequence[Replacement]) -> tuple[Curve, Callable[[float], float]]:
    """A closed curve with stretches replaced, and where an old station is on it.

    A station inside a replaced stretch keeps its share of it.
    """
    total = outline.length
    ordered = sorted(replacements, key=lambda new: new.start)
    origin = ordered[0].start
    parts: list[tuple[float, float, Curve]] = []  # old station from the origin, old length, line
    at = 0.0
    for new in ordered:
        ahead = (new.start - origin) % total
        if ahead - at > 1e-7:
            parts.append((at, ahead - at, outline.between((origin + at) % total, new.start)))
        old = (new.end - new.start) % total or total
        parts.append((ahead, old, new.curve))
        at = ahead + old
    if total - at > 1e-7:
        parts.append((at, total - at, outline.between((origin + at) % total, origin)))
    rows = np.concatenate([curve.segments for _, _, curve in parts])
    gaps = np.abs(rows[:, 0] - np.roll(rows[:, 3], 1))
    if gaps.max() > 1e-5:
        raise ValueError(f"a new line ends {gaps.max():g} mm beside the old one")
    rows[:, 0] = np.roll(rows[:, 3], 1)
    raw = Curve(rows)
    starts = np.cumsum([0.0, *(curve.length for _, _, curve in parts)])

    def placed(station: float) -> float:
        ahead = (station - origin) % total
        for k, (begin, old, curve) in enumerate(parts):
            if begin - 1e-9 <= ahead <= begin + old + 1e-9:
                share = min(max((ahead - begin) / old, 0.0), 1.0)
                return float(starts[k] + share * curve.length) % raw.length
        return 0.0

    first = placed(0.0)
    joint = least(raw.joint_stations.tolist(), key=lambda s: min(abs(s - first), raw.length - abs(s - first)))
    first = joint if abs(joint - first) < 1e-6 else first
    result = raw.with_start(first) if 1e-9 < first < raw.length - 1e-9 else raw

    def moved(station: float) -> float:
        found = (placed(station) - first) % result.length
        return 0.0 if result.length - found < 1e-6 else found

    return result, moved


def named_shapes(pieces: Iterable[Piece], shapes: Iterable[Shape], size: str) -> dict[str, Shape]:
    """The shapes of one size by the plan's names."""
    by_file = {shape.name: shape for shape in shapes if shape.size == size}
    return {piece.name: by_file[piece.in_file] for piece in pieces}
