"""A piece laid anew after its parts moved: the outline, and all that lies on it and in it, each where its part went."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from seamcheck.altering.cutting import Cutting
from seamcheck.altering.taping import Taped
from seamcheck.pattern.model import InsideLine
from seamcheck.pieces.markings import ShapeNotch
from seamcheck.truing.state import ON_LINE, State, moved_notch


def carried(state: State, name: str, cutting: Cutting) -> State:
    """The pattern with one piece in parts that moved, taped down; nothing is blended.

    ValueError where the outline cannot be taped, or its cut line cannot follow.
    """
    shape, taped = state.shapes[name], cutting.taped()
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
        corners=tuple(sorted({taped.now_at(s) for s in shape.corners if taped.is_kept(s)})),
        turn_points=tuple(there(point) for point in shape.turn_points),
        notches=tuple(_notch(notch, taped) for notch in shape.notches),
        stray_notches=tuple(there(at) for at in shape.stray_notches),
        grainlines=tuple(cutting.carried_arrow(grain) for grain in shape.grainlines),
        folds=tuple(map(cutting.carried, shape.folds)),
        inside=tuple(_inside_line(line, cutting) for line in shape.inside),
        drill_holes=tuple(complex(cutting.motion_of(at).apply(at)) for at in shape.drill_holes),
        chords=None,
    )
    return state.laid_anew(name, new, _corners(state, name, taped, cutting), taped.now_at)


def _corners(state: State, name: str, taped: Taped, cutting: Cutting) -> Mapping[str, complex]:
    """Where the plan's corners go: with the outline, or with the part that they lie in."""
    found, old = {}, state.shapes[name].outline
    for corner, at in state.plans[name].corners.items():
        near = old.nearest(at)
        if near.distance < ON_LINE:
            found[corner] = taped.outline.point(taped.now_at(near.station))
        else:
            found[corner] = complex(cutting.motion_of(at).apply(at))
    return found


def _notch(notch: ShapeNotch, taped: Taped) -> ShapeNotch:
    """A notch with its part; one that comes to lie under the paper goes to where the line comes out of it."""
    station = taped.now_at(notch.station)
    if not taped.is_kept(notch.station):
        return moved_notch(notch, taped.old, taped.outline, station)
    move = taped.motion_at(notch.station)
    ticks = tuple((complex(move.apply(a)), complex(move.apply(b))) for a, b in notch.ticks)
    return replace(notch, at=complex(move.apply(notch.at)), station=station, ticks=ticks)


def _inside_line(line: InsideLine, cutting: Cutting) -> InsideLine:
    return replace(line, curve=cutting.carried(line.curve))
