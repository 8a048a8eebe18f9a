"""A piece laid anew after its parts moved: the outline, and all that lies on it and in it, each where its part went."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Protocol

from seamcheck.altering.cutting import Cutting
from seamcheck.geometry.curve import Affine, Curve
from seamcheck.pattern.model import InsideLine
from seamcheck.pieces.markings import ShapeNotch
from seamcheck.truing.state import ON_LINE, State, moved_notch

SAME_CORNER = 1.5  # mm


class Laid(Protocol):
    """An outline in parts that moved, as one line again, and where on it the places of the old one are."""

    old: Curve
    outline: Curve

    def now_at(self, station: float) -> float:
        """Where a station of the old outline is on the new one."""

    def is_kept(self, station: float) -> bool:
        """Whether a station of the old outline is still on the line."""

    def motion_at(self, station: float) -> Affine:
        """The motion of the part that a station of the old outline belongs to."""


def carried(
    state: State,
    name: str,
    cutting: Cutting,
    taped: Laid | None = None,
    named: Mapping[str, complex] | None = None,
    edges: Mapping[str, tuple[str, ...]] | None = None,
) -> State:
    """The pattern with one piece in parts that moved, taped down; nothing is blended.

    `taped` is its outline then, where that is not just the parts one after the other; `named` are corners of the plan that go elsewhere
    than with the outline, and `edges` those that run past other corners. ValueError where the outline cannot be taped, or its cut line
    cannot follow.
    """
    shape = state.shapes[name]
    if taped is None:
        taped = cutting.taped()
        lost = [
            corner.name for corner in state.pieces[name].corners if corner.named and not taped.is_kept(corner.station)
        ]
        if lost:
            raise ValueError(f"{lost[0]} would lie under the paper")
    outline = taped.outline

    def there(point: complex) -> complex:
        near = shape.outline.nearest(point)
        if near.distance >= ON_LINE:
            return complex(cutting.motion_of(point).apply(point))
        if not taped.is_kept(near.station):
            return outline.point(taped.now_at(near.station))
        return complex(taped.motion_at(near.station).apply(point))

    new = replace(
        shape,
        outline=outline,
        corners=_corner_stations(state, name, taped),
        turn_points=tuple(there(point) for point in shape.turn_points),
        notches=tuple(_notch(notch, taped) for notch in shape.notches),
        stray_notches=tuple(there(at) for at in shape.stray_notches),
        grainlines=tuple(cutting.carried_arrow(grain) for grain in shape.grainlines),
        folds=tuple(map(cutting.carried, shape.folds)),
        inside=tuple(_inside_line(line, cutting) for line in shape.inside),
        drill_holes=tuple(complex(cutting.motion_of(at).apply(at)) for at in shape.drill_holes),
        smoothed=None,
    )
    corners = {**_corners(state, name, taped, cutting), **(named or {})}
    if named:
        stations = {outline.nearest(at).station % outline.length for at in named.values()}
        new = replace(new, corners=tuple(sorted({*new.corners, *stations})))
    return state.laid_anew(name, new, corners, taped.now_at, edges)


def _corner_stations(state: State, name: str, taped: Laid) -> tuple[float, ...]:
    """Where corners are on the new outline; with those that the plan names on a smooth line, which no kink beside them may stand for."""
    old = state.shapes[name]
    named = [corner.station % old.outline.length for corner in state.pieces[name].corners if corner.named]
    stations = [*old.corners, *(one for one in named if all(abs(one - other) > SAME_CORNER for other in old.corners))]
    return tuple(sorted({taped.now_at(one) for one in stations if taped.is_kept(one)}))


def _corners(state: State, name: str, taped: Laid, cutting: Cutting) -> Mapping[str, complex]:
    """Where the plan's corners go: with the outline, or with the part that they lie in."""
    found, old = {}, state.shapes[name].outline
    for corner, at in state.plans[name].corners.items():
        near = old.nearest(at)
        if near.distance < ON_LINE:
            found[corner] = taped.outline.point(taped.now_at(near.station))
        else:
            found[corner] = complex(cutting.motion_of(at).apply(at))
    return found


def _notch(notch: ShapeNotch, taped: Laid) -> ShapeNotch:
    """A notch with its part; one that comes to lie under the paper goes to where the line comes out of it."""
    station = taped.now_at(notch.station)
    if not taped.is_kept(notch.station):
        return moved_notch(notch, taped.old, taped.outline, station)
    move = taped.motion_at(notch.station)
    ticks = tuple((complex(move.apply(a)), complex(move.apply(b))) for a, b in notch.ticks)
    return replace(notch, at=complex(move.apply(notch.at)), station=station, ticks=ticks)


def _inside_line(line: InsideLine, cutting: Cutting) -> InsideLine:
    return replace(line, curve=cutting.carried(line.curve))
