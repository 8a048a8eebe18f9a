"""Kinds of fault, each made to measure in a clean draft: what a hand, a scanner or a drawing program leaves behind.

A kind says where in a pattern it can be seeded, how a draft with it looks, and which check must find it. An amount is
in the unit of that check; kinds without a number are seeded at another place for every size.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial
from itertools import pairwise
from pathlib import Path
from tempfile import TemporaryDirectory

from seeded_patterns import Clean, Spoilt, judged, with_ease

from corpus_drafting.alteration import _moved as strokes_moved  # isort: skip
from corpus_drafting.alteration import altered  # isort: skip
from corpus_drafting.draw import Alteration, heading, strip  # isort: skip
from corpus_drafting.habits import with_grain, with_texts  # isort: skip
from drafting.shapes import Cubic, Line, Notch, Piece, Stroke, strokes  # isort: skip
from seamcheck.geometry.curve import Affine

SIXTEENTH = 1.6  # mm
BLEND = 3.5  # degrees
CLEAR = 40.0  # mm between a notch that is meddled with and the ends of its edge or its neighbours


@dataclass(frozen=True, slots=True)
class Place:
    """Where a fault is seeded: piece, edge, and whatever else tells it from other places of the kind."""

    piece: str
    edge: str = ""
    corner: str = ""
    index: int = 0


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of fault: which check and codes must find it, its tolerance (None: not measured), where and how it is made."""

    name: str
    check: str
    codes: tuple[str, ...]
    tolerance: float | None
    places: Callable[[Clean], list[Place]]
    make: Callable[[Clean, Place, float], Spoilt]
    also: tuple[str, ...] = ()  # checks that may rightly say the same
    band: Callable[[Clean, Place], float] | None = None  # where the tolerance depends on the place


def changed(clean: Clean, piece: Piece, **more: object) -> Spoilt:
    """The pattern with one piece in another shape."""
    return Spoilt(clean, {**clean.pieces, piece.key: piece}, **more)  # type: ignore[arg-type]


# Where


def sewn(clean: Clean) -> dict[tuple[str, str], list[str]]:
    """For every sewn (piece, edge) the seams it is in."""
    found: dict[tuple[str, str], list[str]] = {}
    for name, *_ in clean.seams:
        for side in clean.sides(name):
            for use in side:
                found.setdefault(use, []).append(name)
    return found


def matched(clean: Clean) -> Iterator[tuple[str, str]]:
    """(piece, edge) pairs sewn once, to another edge, without ease: their length and notches have a mate."""
    for use, seams in sewn(clean).items():
        first, second = clean.sides(seams[0])
        if len(seams) == 1 and first != second and seams[0] not in clean.eased and (first + second).count(use) == 1:
            yield use


def matched_elsewhere(clean: Clean) -> Iterator[tuple[str, str]]:
    """Those of them whose mate is on another piece, so that what happens to a whole piece happens to one side alone."""
    for key, edge in matched(clean):
        (name,) = sewn(clean)[key, edge]
        first, second = ({piece for piece, _ in side} for side in clean.sides(name))
        if not first & second:
            yield key, edge


def single(piece: Piece, edge: str) -> int | None:
    """The only stretch of an edge, or None where a dart opens on it."""
    rows = [k for k, one in enumerate(piece.stretches) if one.edge == edge]
    return rows[0] if len(rows) == 1 else None


def free_edges(clean: Clean, least: float) -> Iterator[tuple[Piece, int]]:
    """Stretches that are not sewn and not on a fold, at least so long, and not bent too much to be redrawn by one cubic."""
    for piece in clean.pieces.values():
        for edge in dict.fromkeys(one.edge for one in piece.stretches):
            k = single(piece, edge)
            if edge in piece.unsewn and edge != piece.fold and k is not None:
                curve = piece.stretches[k].curve
                if curve.length >= least and abs(curve.turning()) < 60:
                    yield piece, k


_JUDGED: dict[str, set[str]] = {}


def judged_corners(clean: Clean) -> set[str]:
    """Corners of the clean pattern at which the line is judged, as piece.corner."""
    if clean.slug not in _JUDGED:
        with TemporaryDirectory() as folder:
            result = judged(Spoilt(clean, clean.pieces), "curves", Path(folder))
        _JUDGED[clean.slug] = {corner for one in result.junctions for corner in one.corners}
    return _JUDGED[clean.slug]


# Lengths


def _ends(clean: Clean, *, free: bool) -> list[Place]:
    """Ends of sewn edges where the next edge is free, or sewn too."""
    used = sewn(clean)
    found = []
    for key, edge in matched(clean):
        piece = clean.pieces[key]
        k = single(piece, edge)
        if k is None or piece.length(edge) < 60:
            continue
        count = len(piece.stretches)
        for corner, other in (
            (piece.stretches[k].start, piece.stretches[k - 1]),
            (piece.stretches[k].end, piece.stretches[(k + 1) % count]),
        ):
            is_free = (key, other.edge) not in used and other.edge != "dart" and other.edge != piece.fold
            long = other.curve.length >= 120  # so that moving its end turns it little
            # On a smooth line nobody can tell a corner that was moved along it: what one edge loses the next one has.
            angled = abs(180.0 - piece.interior_angle(corner)) >= 15.0
            if long and angled and (is_free if free else (key, other.edge) in used):
                found.append(Place(key, edge, corner))
    return found


def _end_moved(clean: Clean, place: Place, amount: float, sign: int) -> Spoilt:
    change = Alteration("", f"{place.piece}.{place.edge}", place.corner, sign * amount)
    return changed(clean, altered(clean.pieces[place.piece], change))


WARP = 50.0  # mm over which a spread or an overlap is blended


def _between(clean: Clean) -> list[Place]:
    """Stretches of sewn edges between an end and a notch, or two notches, that are long enough to be spread inside."""
    found = []
    for key, edge in matched_elsewhere(clean):
        piece = clean.pieces[key]
        if single(piece, edge) is None:
            continue
        stops = [0.0, *sorted(n.station for n in piece.notches if n.edge == edge), piece.length(edge)]
        if len(stops) > 2:
            found += [Place(key, edge, index=round((a + b) / 2)) for a, b in pairwise(stops) if b - a >= 2.4 * WARP]
    return found


def _warped(clean: Clean, place: Place, amount: float, sign: int) -> Spoilt:
    """The piece spread, or folded, across a band square to the edge; all lines run on smoothly."""
    piece = clean.pieces[place.piece]
    at, along = piece.point(place.edge, float(place.index))
    origin = at - along * WARP / 2

    def shift(point: complex) -> tuple[complex, float]:
        share = min(max(((point - origin) * along.conjugate()).real / WARP, 0.0), 1.0)
        smooth = share**3 * (10 - 15 * share + 6 * share**2)
        slope = 30 * share**2 * (1 - share) ** 2 / WARP
        return point + sign * amount * along * smooth, sign * amount * slope

    def mapped(stroke: Stroke) -> list[Stroke]:
        curve = stroke.curve()
        ranges = [((point - origin) * along.conjugate()).real for point in curve.segments.ravel().tolist()]
        if max(ranges) <= 0:
            return [stroke]
        if min(ranges) >= WARP:
            return [stroke.moved(Affine.translation(sign * amount * along))]
        parts: list[Stroke] = []
        steps = max(1, math.ceil(curve.length / 6))
        for part in curve.split(*(curve.length * k / steps for k in range(1, steps))):
            for a, b, c, d in part.segments.tolist():
                (start, by_start), (end, by_end) = shift(a), shift(d)
                first = b - a + by_start * along * ((b - a) * along.conjugate()).real
                last = d - c + by_end * along * ((d - c) * along.conjugate()).real
                parts.append(Cubic(start, start + first, end - last, end))
        return parts

    rows = tuple(
        replace(one, strokes=tuple(new for stroke in one.strokes for new in mapped(stroke)))
        for one in piece.stretches
    )
    spread = replace(piece, stretches=rows, grain=tuple(shift(point)[0] for point in piece.grain))
    notches = tuple(
        replace(n, station=spread.station(n.edge, shift(piece.point(n.edge, n.station)[0])[0])) for n in piece.notches
    )
    return changed(clean, replace(spread, notches=notches))


def _scalable(clean: Clean) -> list[Place]:
    return [Place(key) for key in dict.fromkeys(key for key, _ in matched_elsewhere(clean))]


def _scaled(clean: Clean, place: Place, amount: float) -> Spoilt:
    """One piece drawn a little larger, so that its longest matched edge is longer by the amount."""
    piece = clean.pieces[place.piece]
    longest = max(piece.length(edge) for key, edge in matched_elsewhere(clean) if key == place.piece)
    factor = 1 + amount / longest
    grown = piece.moved(Affine(factor + 0j, 0j, 0j))
    return changed(
        clean, replace(grown, notches=tuple(replace(n, station=n.station * factor) for n in piece.notches))
    )


def _band_ends(clean: Clean) -> list[Place]:
    """Bands with a free end, sewn to a waist: the stretch at that end."""
    found = []
    for name, *_ in clean.seams:
        first, second = clean.sides(name)
        waists = all("waist" in edge for key, edge in first if "piece" not in key)
        if len(second) != 1 or not second[0][0].startswith("band") or not waists or name in clean.eased:
            continue
        key, edge = second[0]
        piece = clean.pieces[key]
        k = single(piece, edge)
        assert k is not None
        count = len(piece.stretches)
        found += [
            Place(key, edge, corner=name, index=end)
            for end in ((k - 1) % count, (k + 1) % count)
            if piece.stretches[end].edge in piece.unsewn and piece.stretches[end].edge != piece.fold
        ]
    return found


def _end_shifted(piece: Piece, k: int, amount: float, edge: str) -> Piece:
    """The piece with one whole stretch moved out square to itself, so that its neighbours become longer."""
    count = len(piece.stretches)
    row = list(piece.stretches)
    own = row[k].curve
    outward = (own.end - own.start) / abs(own.end - own.start) * 1j  # clockwise: the piece lies to the right
    by = outward * amount
    row[k] = row[k].moved(Affine.translation(by))
    row[k - 1] = replace(row[k - 1], strokes=strokes_moved(row[k - 1].strokes, by, at_end=True))
    following = (k + 1) % count
    row[following] = replace(row[following], strokes=strokes_moved(row[following].strokes, by, at_end=False))
    moved = replace(piece, stretches=tuple(row))
    notches = tuple(
        replace(n, station=moved.station(n.edge, piece.point(n.edge, n.station)[0])) for n in piece.notches
    )
    return replace(moved, notches=notches)


def _band_longer(clean: Clean, place: Place, amount: float) -> Spoilt:
    piece = _end_shifted(clean.pieces[place.piece], place.index, amount, place.edge)
    return changed(clean, piece, plan=lambda text: with_ease(text, place.corner, -8, 8))


def _too_much_ease(clean: Clean, place: Place, amount: float) -> Spoilt:
    piece = _end_shifted(clean.pieces[place.piece], place.index, -(4 + amount), place.edge)
    return changed(clean, piece, plan=lambda text: with_ease(text, place.corner, 0, 4))


# Notches


def _notches(clean: Clean) -> list[Place]:
    """Notches with a mate, well clear of corners and of other notches, on seams of one edge against one edge."""
    pairs = dict.fromkeys(matched(clean))
    found = []
    for key, piece in clean.pieces.items():
        for index, notch in enumerate(piece.notches):
            if (key, notch.edge) not in pairs:
                continue
            (name,) = sewn(clean)[key, notch.edge]
            sides = clean.sides(name)
            others = [n.station for k, n in enumerate(piece.notches) if n.edge == notch.edge and k != index]
            clear = min(
                [notch.station, piece.length(notch.edge) - notch.station, *(abs(s - notch.station) for s in others)]
            )
            has_mate = all(
                any(n.edge == edge for n in clean.pieces[one].notches) for side in sides for one, edge in side
            )
            if len(sides[0]) == len(sides[1]) == 1 and clear > CLEAR and has_mate:
                found.append(Place(key, notch.edge, index=index))
    return found


def _with_notch(clean: Clean, place: Place, *new: Notch) -> Spoilt:
    piece = clean.pieces[place.piece]
    row = (*piece.notches[: place.index], *new, *piece.notches[place.index + 1 :])
    return changed(clean, replace(piece, notches=row))


def _own(clean: Clean, place: Place) -> Notch:
    return clean.pieces[place.piece].notches[place.index]


def _notch_shifted(clean: Clean, place: Place, amount: float, sign: int) -> Spoilt:
    notch = _own(clean, place)
    return _with_notch(clean, place, replace(notch, station=notch.station + sign * amount))


def _notch_lost(clean: Clean, place: Place, amount: float) -> Spoilt:
    return _with_notch(clean, place)


def _notch_counted(clean: Clean, place: Place, amount: float) -> Spoilt:
    notch = _own(clean, place)
    return _with_notch(clean, place, replace(notch, count=3 - notch.count if notch.count < 3 else 1))


def _notch_twice(clean: Clean, place: Place, amount: float) -> Spoilt:
    notch = _own(clean, place)
    return _with_notch(clean, place, notch, replace(notch, station=notch.station + 22.0))


def _notch_slanted(clean: Clean, place: Place, amount: float) -> Spoilt:
    return _with_notch(clean, place, replace(_own(clean, place), lean=amount))


# Corners and edges


def _cubic(start: complex, leaves: complex, end: complex, arrives: complex) -> Cubic:
    reach = abs(end - start) / 3
    return Cubic(start, start + reach * leaves, end - reach * arrives, end)


def _redrawn(clean: Clean, piece: Piece, k: int, *new: Stroke) -> Spoilt:
    row = list(piece.stretches)
    row[k] = replace(row[k], strokes=new)
    return changed(clean, replace(piece, stretches=tuple(row)))


def _turnable(clean: Clean, *, at_fold: bool) -> list[Place]:
    """Corners at the ends of free edges, where a seam begins, or a fold crosses."""
    known = judged_corners(clean)
    found = []
    for piece, k in free_edges(clean, 60):
        stretch = piece.stretches[k]
        beside = piece.stretches[k - 1], piece.stretches[(k + 1) % len(piece.stretches)]
        for corner, other in zip((stretch.start, stretch.end), beside, strict=True):
            if (other.edge == piece.fold) == at_fold and f"{piece.key}.{corner}" in known:
                found.append(Place(piece.key, stretch.edge, corner))
    return found


def _corner_turned(clean: Clean, place: Place, amount: float, sign: int) -> Spoilt:
    """The angle inside the piece at a corner made larger by so many degrees; the free edge bends to it."""
    piece = clean.pieces[place.piece]
    k = single(piece, place.edge)
    assert k is not None
    curve = piece.stretches[k].curve
    leaves, arrives = curve.tangent(0.0), curve.tangent(curve.length, side=-1)
    if piece.stretches[k].start == place.corner:
        leaves *= heading(sign * amount)
    else:
        arrives *= heading(-sign * amount)
    return _redrawn(clean, piece, k, _cubic(curve.start, leaves, curve.end, arrives))


def _blendable(clean: Clean) -> list[Place]:
    return [Place(piece.key, piece.stretches[k].edge) for piece, k in free_edges(clean, 140)]


def _broken(clean: Clean, place: Place, turn: float, jog: float, over: float) -> Spoilt:
    """A free edge with a kink, a step or a flat spot a little before its middle.

    Behind the place the line has turned by so many degrees; before and behind a bridge of `over` mm it lies `jog` mm apart.
    """
    piece = clean.pieces[place.piece]
    k = single(piece, place.edge)
    assert k is not None
    curve = piece.stretches[k].curve
    middle, along = curve.point(0.45 * curve.length), curve.tangent(0.45 * curve.length)
    half = heading(turn / 2)
    near = middle - along * (over / 2 + 0.5j * jog)
    far = middle + along * (over / 2 + 0.5j * jog)
    before = _cubic(curve.start, curve.tangent(0.0), near, along / half)
    behind = _cubic(far, along * half, curve.end, curve.tangent(curve.length, side=-1))
    return _redrawn(clean, piece, k, before, *((Line(near, far),) if over else ()), behind)


def _kinked(clean: Clean, place: Place, amount: float, sign: int) -> Spoilt:
    return _broken(clean, place, sign * amount, 0.0, 0.0)


def _stepped(clean: Clean, place: Place, amount: float, sign: int) -> Spoilt:
    return _broken(clean, place, 0.0, sign * amount, 4.0)


def _flattened(clean: Clean, place: Place, amount: float) -> Spoilt:
    return _broken(clean, place, 2 * amount, 0.0, 25.0)


def _folds(clean: Clean) -> list[Place]:
    """Folds long enough to bow without also leaving their corners under another angle."""
    return [
        Place(key, piece.fold)
        for key, piece in clean.pieces.items()
        if piece.fold is not None and piece.length(piece.fold) >= 100
    ]


def _fold_band(clean: Clean, place: Place) -> float:
    return 0.8


def _fold_bowed(clean: Clean, place: Place, amount: float) -> Spoilt:
    """A fold that bows inwards and still leaves its corners square."""
    piece = clean.pieces[place.piece]
    k = single(piece, place.edge)
    assert k is not None
    curve = piece.stretches[k].curve
    along = (curve.end - curve.start) / curve.length
    middle = curve.point(curve.length / 2) - 1j * along * amount
    return _redrawn(
        clean, piece, k, _cubic(curve.start, along, middle, along), _cubic(middle, along, curve.end, along)
    )


# Darts


def _darts(clean: Clean) -> list[Place]:
    """The stretches that run from a dart's tip to its second mouth corner."""
    return [
        Place(key, "dart", corner=after.end, index=k + 1)
        for key, piece in clean.pieces.items()
        for k, (before, after) in enumerate(zip(piece.stretches, piece.stretches[1:], strict=False))
        if before.edge == after.edge == "dart"
    ]


def _leg_longer(clean: Clean, place: Place, amount: float, sign: int) -> Spoilt:
    piece = clean.pieces[place.piece]
    row = list(piece.stretches)
    leg = row[place.index].curve
    by = sign * amount * leg.tangent(leg.length, side=-1)
    following = (place.index + 1) % len(row)
    row[place.index] = replace(row[place.index], strokes=strokes_moved(row[place.index].strokes, by, at_end=True))
    row[following] = replace(row[following], strokes=strokes_moved(row[following].strokes, by, at_end=False))
    return changed(clean, replace(piece, stretches=tuple(row)))


def _mouth_turned(clean: Clean, place: Place, amount: float, sign: int) -> Spoilt:
    """The edge behind a dart leaves its mouth under another angle."""
    piece = clean.pieces[place.piece]
    k = (place.index + 1) % len(piece.stretches)
    first, *rest = strokes(piece.stretches[k].curve)
    if isinstance(first, Line):
        first = _cubic(first.start, (first.end - first.start) / abs(first.end - first.start), first.end,
                       (first.end - first.start) / abs(first.end - first.start))  # fmt: skip
    assert isinstance(first, Cubic)
    turned = first.start + (first.first - first.start) * heading(sign * amount)
    return _redrawn(clean, piece, k, Cubic(first.start, turned, first.second, first.end), *rest)


# Grain


def _grained(clean: Clean) -> list[Place]:
    return [Place(key) for key, piece in clean.pieces.items() if len(piece.grain) == 2 and _arrow(piece) > 60]


def _arrow(piece: Piece) -> float:
    return abs(piece.grain[-1] - piece.grain[0])


def _grain(clean: Clean, place: Place, *points: complex) -> Spoilt:
    return changed(clean, replace(clean.pieces[place.piece], grain=points))


def _grain_bent(clean: Clean, place: Place, amount: float) -> Spoilt:
    tail, head = clean.pieces[place.piece].grain
    middle = (tail + head) / 2
    # Shortened, so that turning its half does not also take it out of the piece.
    return _grain(clean, place, (tail + middle) / 2, middle, middle + (head - middle) / 2 * heading(amount))


def _grain_missing(clean: Clean, place: Place, amount: float) -> Spoilt:
    return _grain(clean, place)


def _grain_out(clean: Clean, place: Place, amount: float) -> Spoilt:
    """The arrow pushed along until its head lies outside."""
    piece = clean.pieces[place.piece]
    tail, head = piece.grain
    along = (head - tail) / abs(head - tail)
    left, bottom, right, top = piece.bounds()
    beyond = max(((complex(x, y) - head) * along.conjugate()).real for x in (left, right) for y in (bottom, top))
    by = along * (beyond + 4 * amount)
    return _grain(clean, place, tail + by, head + by)


def _grain_short(clean: Clean, place: Place, amount: float) -> Spoilt:
    tail, head = clean.pieces[place.piece].grain
    return _grain(clean, place, tail, tail + (head - tail) * 0.05 * (5 - min(amount, 4.0)))


def _grain_along_fold(clean: Clean) -> list[Place]:
    found = []
    for place in _folds(clean):
        piece = clean.pieces[place.piece]
        edge = piece.runs(place.edge)[0]
        off = math.degrees(cmath.phase((piece.grain[-1] - piece.grain[0]) / (edge.end - edge.start))) % 180
        if min(off, 180 - off) < 0.1:
            found.append(place)
    return found


def _grain_turned(clean: Clean, place: Place, amount: float) -> Spoilt:
    """The whole arrow turned about its middle, and shortened to stay inside."""
    tail, head = clean.pieces[place.piece].grain
    middle, half = (tail + head) / 2, (head - tail) / 2 * 0.8 * heading(amount)
    return _grain(clean, place, middle - half, middle + half)


# Outlines and plan


def _closed(clean: Clean) -> list[Place]:
    return [Place(key) for key in clean.pieces]


def _gaping(clean: Clean, place: Place, amount: float) -> Spoilt:
    """The last stretch ends short of where the outline began."""
    piece = clean.pieces[place.piece]
    last = piece.stretches[-1]
    kept = last.curve.between(0.0, last.curve.length - amount)
    return changed(clean, replace(piece, stretches=(*piece.stretches[:-1], replace(last, strokes=strokes(kept)))))


def _unplanned(clean: Clean, place: Place, amount: float) -> Spoilt:
    patch = replace(
        with_grain(strip("patch", "Patch", 120 + 10 * amount, 160), 90.0), size=next(iter(clean.pieces.values())).size
    )
    return Spoilt(clean, {**clean.pieces, "patch": with_texts(patch, "en")})


def _dropped(clean: Clean, place: Place, amount: float) -> Spoilt:
    return Spoilt(clean, {key: piece for key, piece in clean.pieces.items() if key != place.piece})


def _several(clean: Clean) -> list[Place]:
    return _closed(clean) if len(clean.pieces) > 1 else []


NOTCH = ("notch-match",)
KINDS: tuple[Kind, ...] = (
    Kind("edge lengthened at a free end", "seam-length", ("long", "short"), SIXTEENTH, partial(_ends, free=True), partial(_end_moved, sign=1)),
    Kind("edge shortened at a free end", "seam-length", ("long", "short"), SIXTEENTH, partial(_ends, free=True), partial(_end_moved, sign=-1)),
    Kind("edge lengthened at a sewn end", "seam-length", ("long", "short"), SIXTEENTH, partial(_ends, free=False), partial(_end_moved, sign=1)),
    Kind("edge shortened at a sewn end", "seam-length", ("long", "short"), SIXTEENTH, partial(_ends, free=False), partial(_end_moved, sign=-1)),
    Kind("spread between notches", "seam-length", ("long", "short"), SIXTEENTH, _between, partial(_warped, sign=1)),
    Kind("overlapped between notches", "seam-length", ("long", "short"), SIXTEENTH, _between, partial(_warped, sign=-1)),
    Kind("piece drawn larger", "seam-length", ("long", "short"), SIXTEENTH, _scalable, _scaled),
    Kind("more ease than planned", "seam-length", ("long", "short"), SIXTEENTH, _band_ends, _too_much_ease),
    Kind("ease on the wrong side", "ease", ("wrong-side",), SIXTEENTH, _band_ends, _band_longer),
    Kind("notch shifted forward", "notch-match", ("station",), SIXTEENTH, _notches, partial(_notch_shifted, sign=1)),
    Kind("notch shifted back", "notch-match", ("station",), SIXTEENTH, _notches, partial(_notch_shifted, sign=-1)),
    Kind("notch lost", "notch-match", ("unmatched",), None, _notches, _notch_lost),
    Kind("notch of another count", "notch-match", ("count",), None, _notches, _notch_counted),
    Kind("notch drawn twice", "notch-match", ("unmatched",), None, _notches, _notch_twice),
    Kind("notch slanted", "notch-place", ("slanted",), 10.0, _notches, _notch_slanted),
    Kind("corner with a point", "corner-blend", ("pointed",), BLEND, partial(_turnable, at_fold=False), partial(_corner_turned, sign=-1)),
    Kind("corner with a hollow", "corner-blend", ("hollow",), BLEND, partial(_turnable, at_fold=False), partial(_corner_turned, sign=1)),
    Kind("peak at a fold", "corner-blend", ("pointed",), BLEND, partial(_turnable, at_fold=True), partial(_corner_turned, sign=-1), also=("square-end",)),
    Kind("dip at a fold", "corner-blend", ("hollow",), BLEND, partial(_turnable, at_fold=True), partial(_corner_turned, sign=1), also=("square-end",)),
    Kind("kink, a point", "edge-blend", ("kink",), BLEND, _blendable, partial(_kinked, sign=-1)),
    Kind("kink, a hollow", "edge-blend", ("kink",), BLEND, _blendable, partial(_kinked, sign=1)),
    Kind("step outwards", "edge-blend", ("step",), SIXTEENTH, _blendable, partial(_stepped, sign=1)),
    Kind("step inwards", "edge-blend", ("step",), SIXTEENTH, _blendable, partial(_stepped, sign=-1)),
    Kind("flat spot", "edge-blend", ("flat", "kink"), BLEND, _blendable, _flattened),
    Kind("fold bowed", "fold-straight", ("bowed",), 1.0, _folds, _fold_bowed, band=_fold_band),
    Kind("dart leg longer", "dart-legs", ("unequal",), SIXTEENTH, _darts, partial(_leg_longer, sign=1)),
    Kind("dart leg shorter", "dart-legs", ("unequal",), SIXTEENTH, _darts, partial(_leg_longer, sign=-1)),
    Kind("dart mouth with a point", "dart-mouth", ("pointed",), BLEND, _darts, partial(_mouth_turned, sign=-1)),
    Kind("dart mouth with a hollow", "dart-mouth", ("hollow",), BLEND, _darts, partial(_mouth_turned, sign=1)),
    Kind("grain bent", "grain-straight", ("bent",), 1.0, _grained, _grain_bent),
    Kind("grain missing", "grain-present", ("missing",), None, _grained, _grain_missing),
    Kind("grain short", "grain-present", ("short",), None, _grained, _grain_short),
    Kind("grain outside", "grain-inside", ("leaves",), None, _grained, _grain_out),
    Kind("outline with a gap", "outline-closed", ("gap", "open"), 1.0, _closed, _gaping),
    Kind("piece not in the plan", "plan-complete", ("piece-unplanned",), None, _closed, _unplanned),
    Kind("piece not in the file", "plan-complete", ("piece-missing",), None, _several, _dropped),
)  # fmt: skip
