"""Which closed lines are pieces, and what the closed lines within, across and around them are.

pair    sew line and cut line of one piece: the inner one is walked
frame   a rectangle round other pieces: the sheet or a border, not cloth

A nameless closed line is a piece only if nothing better explains it. What is small beside the pieces is a picture
or a swatch, what lies half on a much larger piece is laid across it, a rectangle round several named lines is a
sheet. A name (label, layer, words inside) always makes a piece. Each such choice is a note, and the ledger lists
what was kept aside.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from seamcheck.amounts import SHEETS
from seamcheck.exact import EXACT, most, snapped
from seamcheck.geometry.curve import Curve
from seamcheck.geometry.exact_arrays import median_of
from seamcheck.geometry.short_arrays import differences, rolled
from seamcheck.geometry.sparse import CoarseEnd
from seamcheck.pattern.drawing import LineMark, Role
from seamcheck.pattern.words import piece_name, says_allowance
from seamcheck.pieces.markings import TOUCH

SMALLEST_PIECE = 400.0  # square mm: a closed line round less than this is a mark, not a piece
ALLOWANCES = (3.0, 30.0)  # mm: how far apart sew line and cut line may run, but for hems
DOUBLE_CONTOUR = 2.0  # mm: two closed lines nearer than this all round are the edges of one thick line
BESIDE = 0.5  # of its way: a closed line inside that keeps an allowance's distance for so much may be a sew line
FAR = 1.6  # times the usual distance: a sew line that is so far from the cut line has turned in
DARTS_SHARE = 0.45  # of a sew line may run in and out of darts ...
MOST_DARTS = 4  # ... in so many places; common practice, no source
PICTURE = 75.0  # mm: a closed line without a name up to this long is a picture or a swatch ...
PICTURE_SHARE = 0.05  # ... when it is this much smaller than the largest piece; common practice, no source
PANELS = 4  # so many panels in a nameless rectangle make it the sheet that they are laid out on ...
FULL = 0.25  # ... when they take more than this share of it; common practice, no source
ON_FRAME = 1.0  # mm: how near to a side of a frame that of its title block lies
ON_EDGE = 0.1  # mm: what is this near to an outline lies on it
WIDEST_HEM = 100.0  # mm: what is called an allowance may be so wide
STRIP_SIDE = 0.35  # of a strip's way round lies on the outline that it is the allowance of
STRIP_SHARE = 4.0  # times as large as the strip is its piece; common practice, no source
ACROSS_SHARE = 0.2  # of a piece's area: up to here a nameless line that lies half on it is something laid across it
FLAT = 0.1  # mm: how near to its line a flattened copy of it keeps
OUTLINE_ROLES = frozenset({Role.OUTLINE, Role.SEW, Role.CUT})

Points = npt.NDArray[np.complex128]


@dataclass(slots=True)
class ClosedLine:
    """A closed line on its way to becoming a piece.

    `named` tells that the file gives it a name or writes one inside
    it, `marked` that a grainline, a notch or a drill hole lies directly inside, `titled` that words in it number a sheet; `twin` is the cut line round a sew line, `apart` how far from it in mm, `why` what makes the two a pair, `guessed` whether it is their form alone. `chords` is the polyline in the file where `curve` is smoother, `coarse` are the ends of its sparse curves.
    """

    curve: Curve
    mark: LineMark
    members: tuple[LineMark, ...]
    gaps: tuple[tuple[float, complex], ...]
    order: int
    bounds: tuple[float, float, float, float]
    area: float
    named: bool = False
    marked: bool = False
    titled: bool = False
    twin: ClosedLine | None = None
    apart: float = 0.0
    why: str = ""
    guessed: bool = False
    chords: Curve | None = None
    coarse: tuple[CoarseEnd, ...] = ()
    _polygon: Points | None = field(default=None, repr=False)

    @property
    def polygon(self) -> Points:
        """A flattened copy of the line that the file draws, for predicates, made when one first asks for it."""
        if self._polygon is None:
            self._polygon = (self.chords or self.curve).polygon(FLAT)
        return self._polygon

    @property
    def outer(self) -> ClosedLine:
        """The outermost line of the piece."""
        return self.twin or self

    @property
    def length(self) -> float:
        """The longer side of its box in mm."""
        x0, y0, x1, y1 = self.bounds
        return max(x1 - x0, y1 - y0)


class Inner(NamedTuple):
    """A closed line within or across a piece: what it is taken for and why; `piece` is None where only its place tells.

    It is `guessed` where the file does not say what it is for, and `perhaps_sewn` where it might be a sew line after all.
    """

    line: ClosedLine
    piece: ClosedLine | None
    what: str
    why: str
    guessed: bool = True
    perhaps_sewn: bool = False


@dataclass(slots=True)
class Nested:
    """What the closed lines of a drawing are.

    `aside` are closed lines that are no part of any piece, each with what it is.
    """

    pieces: list[ClosedLine] = field(default_factory=list)
    inside: list[Inner] = field(default_factory=list)
    aside: list[tuple[ClosedLine, str]] = field(default_factory=list)


def closed_line(
    curve: Curve, mark: LineMark, members: tuple[LineMark, ...], gaps: tuple[tuple[float, complex], ...], order: int
) -> ClosedLine:
    """Make a candidate of a closed curve; `mark` speaks for all its members."""
    area = snapped(abs(curve.signed_area()))
    x0, y0, x1, y1 = map(snapped, curve.bounds())
    return ClosedLine(curve, mark, members, gaps, order, (x0, y0, x1, y1), area)


def nest_in_block(candidates: Sequence[ClosedLine]) -> Nested:
    """One piece to a block: its sew line is walked, whatever else is closed lies inside it."""
    big = [c for c in candidates if _may_be_piece(c)]
    found = Nested()
    if big:
        sew = [c for c in big if c.mark.role is Role.SEW]
        outer = [c for c in big if c.mark.role is not Role.SEW]
        main = most(sew or outer, key=lambda c: c.area)
        if sew and outer:
            _pair(main, most(outer, key=lambda c: c.area))
        found.pieces.append(main)
    for c in candidates:
        if not any(c is piece or c is piece.twin for piece in found.pieces):
            found.inside.append(Inner(c, None, *_inner_kind(c, found.pieces, _Sizes(found.pieces))))
    return found


def nest(candidates: Sequence[ClosedLine]) -> Nested:
    """Tell pieces from what lies inside, across and around them."""
    found = Nested()
    big = [c for c in candidates if _may_be_piece(c)]
    small = [c for c in candidates if not _may_be_piece(c)]
    big.sort(key=lambda c: (-round(c.area, 6), c.order))
    frames = _frames(big)
    found.aside += [(c, "frame or sheet round other pieces") for c in frames]
    blocks = [c for c in big if c.titled and any(_is_in_corner(c, frame) for frame in frames)]
    found.aside += [(c, "title block of a sheet") for c in blocks]
    outside = {id(c) for c in (*frames, *blocks)}
    inner: list[tuple[ClosedLine, ClosedLine | None]] = []
    boxes = Boxes(big)
    piece_of: dict[int, ClosedLine] = {}  # by the place of its outer line in `big`
    for number, c in enumerate(big):
        if id(c) in outside:
            continue
        around = (k for k in reversed(boxes.holding(c.bounds, TOUCH)) if k < number and k in piece_of)
        at = next((k for k in around if is_inside(c, big[k])), None)
        parent = None if at is None else piece_of[at]
        if at is None and (other := _other_line(c, big, piece_of)) is not None:
            sew, cut = sorted((c, piece_of[other]), key=lambda one: one.mark.role is not Role.SEW)
            _pair(sew, cut)
            piece_of[other] = sew
        elif at is None or parent is None:
            piece_of[number] = c
        elif parent.twin is None and _is_second_line(c, parent):
            if parent.mark.role is Role.SEW and c.mark.role is Role.CUT:
                inner.append((c, parent))
            else:  # the inner line is the sew line: it takes the place of the cut line round it
                _pair(c, parent)
                piece_of[at] = c
        elif c.mark.role in OUTLINE_ROLES and c.mark.groups != parent.mark.groups:
            piece_of[number] = c
        else:
            inner.append((c, parent))
    found.pieces = list(piece_of.values())
    across = [*_strips(found), *_laid_across(found)]
    _take_pictures(found)
    inner += [(c, None) for c in small]
    lines = {id(line): piece for piece in found.pieces for line in (piece, piece.outer)}
    boxes, sizes = Boxes([piece.outer for piece in found.pieces]), _Sizes(found.pieces)
    for c, parent in inner:
        piece = lines.get(id(parent))
        near = (found.pieces[k] for k in boxes.holding(c.bounds, TOUCH))
        held_by = [piece] if piece else [p for p in near if is_inside(c, p.outer)]
        what, why, guessed = _inner_kind(c, held_by, sizes)
        beside = guessed and what != "second outline" and any(_runs_beside(c, p) for p in held_by if p.twin is None)
        found.inside.append(Inner(c, piece, what, why, guessed, perhaps_sewn=beside))
    found.inside += across
    found.pieces.sort(key=lambda c: c.order)
    return found


def _other_line(c: ClosedLine, big: Sequence[ClosedLine], piece_of: Mapping[int, ClosedLine]) -> int | None:
    """The place in `big` of the sew or cut line of the same group that `c` runs across: what was altered is one of them."""
    for k, piece in piece_of.items():
        roles = {c.mark.role, piece.mark.role}
        if (
            roles == {Role.SEW, Role.CUT}
            and piece.twin is None
            and c.mark.groups
            and c.mark.groups == big[k].mark.groups
        ):
            u0, v0, u1, v1 = (
                pick(one, other)
                for pick, one, other in zip((max, max, min, min), c.bounds, piece.bounds, strict=True)
            )
            common, least = (u1 - u0) * (v1 - v0), min(c.area, piece.area)
            if u1 > u0 and v1 > v0 and common > 0.9 * least:
                return k
    return None


def _may_be_piece(c: ClosedLine) -> bool:
    return c.area >= SMALLEST_PIECE and c.mark.role not in (Role.INTERNAL, Role.CUTOUT, Role.TEST_SQUARE)


class Boxes:
    """The boxes of many closed lines, to find quickly the few that hold something."""

    def __init__(self, lines: Sequence[ClosedLine]) -> None:
        """Take the boxes of `lines`, in their order."""
        self.bounds = np.array([line.bounds for line in lines]).reshape(-1, 4)

    def holding(self, box: tuple[float, float, float, float], reach: float = 0.0) -> list[int]:
        """The numbers of the lines whose box, widened by `reach` mm, holds another box."""
        low = (self.bounds[:, :2] - reach <= box[:2]).all(axis=1)
        high = (self.bounds[:, 2:] + reach >= box[2:]).all(axis=1)
        return [int(number) for number in np.flatnonzero(low & high)]

    def held_by(self, box: tuple[float, float, float, float], reach: float = 0.0) -> list[int]:
        """The numbers of the lines whose box lies in another box that is widened by `reach` mm."""
        low = (self.bounds[:, :2] + reach >= box[:2]).all(axis=1)
        high = (self.bounds[:, 2:] - reach <= box[2:]).all(axis=1)
        return [int(number) for number in np.flatnonzero(low & high)]


class _Sizes:
    """The sizes of pieces, to tell whether one is as large as a closed line."""

    def __init__(self, pieces: Sequence[ClosedLine]) -> None:
        self.areas = np.array([piece.area for piece in pieces])
        self.lengths = np.array([piece.length for piece in pieces])

    def have(self, c: ClosedLine) -> bool:
        """Whether a piece, which `c` is not, has its area and length within 2 %."""
        alike = (np.abs(self.areas - c.area) <= 0.02 * c.area) & (np.abs(self.lengths - c.length) <= 0.02 * c.length)
        return bool(alike.any())


def _inner_kind(c: ClosedLine, around: Sequence[ClosedLine], sizes: _Sizes) -> tuple[str, str, bool]:
    """What a closed line is taken for that lies in the pieces `around` it, why, and whether that is a guess."""
    if c.mark.role is Role.CUTOUT:
        return "hole", c.mark.why, False
    if c.mark.role is Role.INTERNAL:
        return "placement line", c.mark.why, False
    if c.mark.role is Role.CUT:
        return "hole", c.mark.why, False
    if any(_is_same(c, line) for piece in around for line in _lines_of(piece)):
        return "second outline", "a closed line that runs on the outline", True
    if c.mark.dashed:
        return "placement line", "a closed dashed line inside", True
    if c.named:
        return "placement line", f"a closed line inside with a name of its own{_label(c)}", True
    if sizes.have(c):
        return "placement line", "a closed line inside as large as another piece", True
    if any(_is_parallel(c, piece) for piece in around):
        return "placement line", "a closed line alongside the sew line", True
    if any(np.mean(_distances(c, line) <= 0.1) > 0.1 for piece in around for line in _lines_of(piece)):
        return "placement line", "a closed line inside that runs along the outline", True
    return "hole", "a closed line inside", True


def _lines_of(piece: ClosedLine) -> tuple[ClosedLine, ...]:
    return (piece,) if piece.twin is None else (piece, piece.twin)


def _is_same(c: ClosedLine, piece: ClosedLine) -> bool:
    if np.abs(np.subtract(c.bounds, piece.bounds)).max() > 1.0:
        return False
    return bool(max(_distances(c, piece).max(), _distances(piece, c).max()) <= 1.0)


def _label(c: ClosedLine) -> str:
    return f' ("{c.mark.label}")' if c.mark.label else ""


# Frames, pictures, strips


def _frames(big: Sequence[ClosedLine]) -> list[ClosedLine]:
    """Rectangles without words of their own that hold several named lines, or many of the size of pieces, or that are a sheet of a usual size.

    A line with a grainline or notches in it is as good as named; a rectangle with those of its own is no frame.
    """
    frames: list[ClosedLine] = []
    boxes = Boxes(big)
    for c in big:
        if not _is_nameless(c) or not _is_rectangle(c):
            continue
        held = [big[k] for k in boxes.held_by(c.bounds, TOUCH) if big[k] is not c and is_inside(big[k], c)]
        if not held:
            continue
        sheet, widest = _is_sheet(c), most(held, key=lambda other: other.area)
        if any(is_inside(c, frame) and _is_parallel(c, frame) for frame in frames):
            frames.append(c)  # a border inside a sheet
            continue
        if widest.area > 0.5 * c.area or _is_parallel(widest, c):
            # It is the piece itself without its allowance, unless it too only holds others.
            held = [] if widest.named else [other for other in held if other is not widest]
        named = sum(other.marked or not _is_nameless(other) for other in held)
        if c.marked:
            continue
        if named >= 2 or _is_full(c, held) or (sheet and held and (named or len(held) < len(big))):
            frames.append(c)
    return frames


def _is_in_corner(c: ClosedLine, frame: ClosedLine) -> bool:
    """Whether a rectangle without a name of its own lies in a corner of a frame, on two of its sides."""
    if c is frame or c.marked or c.mark.role is not None or piece_name(c.mark.label) or not _is_rectangle(c):
        return False
    u0, v0, u1, v1 = np.abs(np.subtract(c.bounds, frame.bounds)) <= ON_FRAME
    return bool((u0 or u1) and (v0 or v1))


def _is_full(c: ClosedLine, held: Sequence[ClosedLine]) -> bool:
    """Whether so much of a rectangle is taken by several lines of the size of pieces that it is no piece with holes."""
    panels = [one for one in held if one.length > PICTURE and not one.mark.dashed]
    panels = [one for one in panels if not any(one is not other and is_inside(one, other) for other in panels)]
    return len(panels) >= PANELS and sum(one.area for one in panels) > FULL * c.area


def _is_nameless(c: ClosedLine) -> bool:
    return not c.named and c.mark.role not in OUTLINE_ROLES


def _is_rectangle(c: ClosedLine) -> bool:
    x0, y0, x1, y1 = c.bounds
    return len(c.curve.segments) <= 8 and c.area > 0.995 * (x1 - x0) * (y1 - y0)


def _is_sheet(c: ClosedLine) -> bool:
    x0, y0, x1, y1 = c.bounds
    sides = sorted((x1 - x0, y1 - y0))
    return any(
        all(abs(side - want) <= 1.0 for side, want in zip(sides, sheet, strict=True)) for sheet in SHEETS.values()
    )


def _laid_across(found: Nested) -> list[Inner]:
    """Take out nameless lines that lie at least half on a much larger piece: straps, tapes, pictures of trimmings."""
    laid = []
    for c in sorted(found.pieces, key=lambda c: round(c.area, 6)):
        if not _is_nameless(c) or c.twin is not None:
            continue
        much_larger = (p for p in found.pieces if c.area <= ACROSS_SHARE * p.outer.area)
        under = next((p for p in much_larger if _share_on(c, p.outer) >= 0.5), None)
        if under is not None:
            laid.append(Inner(c, under, "placement line", "a closed line without a name, laid across the piece"))
            found.pieces = [p for p in found.pieces if p is not c]
    return laid


def _strips(found: Nested) -> list[Inner]:
    """Take out nameless strips along an outline, no wider than an allowance or called so: the allowances of single edges."""
    strips = []
    for c in sorted(found.pieces, key=lambda c: round(c.area, 6)):
        called = says_allowance(c.mark.label)
        widest = WIDEST_HEM if called else ALLOWANCES[1]
        if not _is_nameless(c) or c.twin is not None or c.marked or 2.0 * c.area > widest * c.curve.length:
            continue
        larger = (p for p in found.pieces if p is not c and p.area > STRIP_SHARE * c.area)
        beside = next((p for p in larger if np.mean(_distances(c, p) <= ON_EDGE) > STRIP_SIDE), None)
        if beside is not None:
            why = f'label "{c.mark.label}"' if called else "a strip without a name along the outline"
            strips.append(Inner(c, beside, "allowance strip", why, guessed=not called))
            found.pieces = [p for p in found.pieces if p is not c]
    return strips


def _take_pictures(found: Nested) -> None:
    """Set aside small nameless lines that lie beside the pieces: swatches of a legend, pictures of buckles."""
    largest = max((p.outer.area for p in found.pieces), default=0.0)
    for c in list(found.pieces):
        if _is_nameless(c) and c.twin is None and c.length <= PICTURE and c.area < PICTURE_SHARE * largest:
            found.pieces = [p for p in found.pieces if p is not c]
            found.aside.append((c, "small closed line without a name"))


# Predicates; a flattened polygon will do, for nothing is measured by it


def is_inside(inner: ClosedLine, outer: ClosedLine) -> bool:
    """Whether one closed line lies within another, touching allowed."""
    x0, y0, x1, y1 = inner.bounds
    u0, v0, u1, v1 = outer.bounds
    if x0 < u0 - TOUCH or y0 < v0 - TOUCH or x1 > u1 + TOUCH or y1 > v1 + TOUCH:
        return False
    picks = inner.polygon[:: max(1, len(inner.polygon) // 12)]
    held = contained(outer.polygon, picks)
    return all(
        within or outer.curve.nearest(complex(at)).distance < 0.01 for within, at in zip(held, picks, strict=True)
    )


def contained(polygon: Points, at: Points) -> npt.NDArray[np.bool_]:
    """Which of some points lie in a polygon, by the even-odd rule."""
    a, b = polygon, rolled(polygon)
    up, right = at.imag[:, None], at.real[:, None]
    crosses = (a.imag > up) != (b.imag > up)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        x = a.real + (up - a.imag) * (b.real - a.real) / (b.imag - a.imag)
    return np.asarray(np.count_nonzero(crosses & (right < x), axis=1) % 2 == 1)


def _share_on(c: ClosedLine, piece: ClosedLine) -> float:
    """How much of one closed line's inside lies in another, by a grid of points."""
    x0, y0, x1, y1 = c.bounds
    u0, v0, u1, v1 = piece.bounds
    if x0 > u1 or u0 > x1 or y0 > v1 or v0 > y1:
        return 0.0
    steps = (np.arange(12) + 0.5) / 12
    grid = ((x0 + (x1 - x0) * steps)[:, None] + 1j * (y0 + (y1 - y0) * steps)[None, :]).ravel()
    grid = grid[contained(c.polygon, grid)]
    return float(contained(piece.polygon, grid).mean()) if len(grid) else 0.0


def _is_second_line(inner: ClosedLine, outer: ClosedLine) -> bool:
    """Whether two nested lines are sew line and cut line of one piece."""
    if {inner.mark.role, outer.mark.role} == {Role.SEW, Role.CUT}:
        return True
    if inner.mark.role in OUTLINE_ROLES and outer.mark.role in OUTLINE_ROLES:
        return False
    # What is called the sew line may leave the outline further at a hem, or along an edge with cloth to let out.
    called = inner.mark.role is Role.SEW and outer.mark.role is None
    return _is_parallel(inner, outer) or (called and _runs_beside(inner, outer))


def _is_parallel(inner: ClosedLine, outer: ClosedLine) -> bool:
    """Whether two lines run at an allowance's distance all round; hems may be wider.

    It is looked at both ways: a placement line may keep near the outline, but the outline does not keep near to it.
    """
    farthest = ALLOWANCES[1] * 5.0
    gaps = np.abs(np.subtract(inner.bounds, outer.bounds))
    if gaps.max() > farthest:
        return False
    apart = _distances(inner, outer)
    low, middle, high = np.percentile(apart, [5, 50, 95])
    far = np.percentile(_distances(outer, inner), 95)
    if high >= 5.0 * middle:  # it may go in far where a dart is drawn into it
        high = middle if _goes_in_for_darts(apart, float(middle)) else high
    far = max(high, far)
    return bool(ALLOWANCES[0] <= middle <= ALLOWANCES[1] and low > 0.6 * middle and far < 5.0 * middle)


def _runs_beside(inner: ClosedLine, outer: ClosedLine) -> bool:
    """Whether a line keeps an allowance's distance for half of its way or more, and the outline comes as near to it."""
    return all(
        np.mean((apart >= ALLOWANCES[0] - EXACT) & (apart <= ALLOWANCES[1] + EXACT)) >= BESIDE
        for apart in (_distances(inner, outer), _distances(outer, inner))
    )


def _goes_in_for_darts(apart: npt.NDArray[np.float64], middle: float) -> bool:
    """Whether a closed line keeps at one distance from the line round it but for a few stretches that go in and come back."""
    far = apart > FAR * middle
    stretches = int(np.count_nonzero(far & ~np.roll(far, 1)))
    return bool(far.mean() <= DARTS_SHARE and 0 < stretches <= MOST_DARTS)


def is_double_contour(inner: ClosedLine, outer: ClosedLine) -> bool:
    """Whether two lines are the two edges of one drawn line: everywhere apart, and nowhere as far as an allowance."""
    if np.abs(np.subtract(inner.bounds, outer.bounds)).max() > DOUBLE_CONTOUR:
        return False
    apart = _distances(inner, outer)
    return bool(apart.min() > 0.0 and max(apart.max(), _distances(outer, inner).max()) < DOUBLE_CONTOUR)


def _distances(one: ClosedLine, other: ClosedLine) -> npt.NDArray[np.float64]:
    """How far one closed line is from another at places spread evenly along it."""
    vertices = np.append(one.polygon, one.polygon[:1])
    along = np.concatenate([[0.0], np.cumsum(np.abs(differences(vertices)))])
    stations = along[-1] * np.arange(40) / 40
    at = np.interp(stations, along, vertices.real) + 1j * np.interp(stations, along, vertices.imag)
    start = other.polygon
    way = rolled(start) - start
    size = np.where(way == 0, 1.0, np.abs(way) ** 2)
    off = at[:, None] - start
    share = np.clip((off * np.conj(way)).real / size, 0.0, 1.0)
    return np.asarray(np.abs(off - share * way).min(axis=1))


def _pair(sew: ClosedLine, cut: ClosedLine) -> None:
    """Make two lines one piece, the cut line round the sew line."""
    sew.twin = cut
    apart = [cut.curve.nearest(sew.curve.point(sew.curve.length * k / 9)).distance for k in range(9)]
    sew.apart = median_of(apart)
    if Role.SEW in (sew.mark.role, cut.mark.role) or cut.mark.role is Role.CUT:
        named = sew.mark if sew.mark.role is Role.SEW else cut.mark
        sew.why = f"{named.why}, {sew.apart:.1f} mm from the {'cut' if named is sew.mark else 'sew'} line"
    else:
        sew.why = f"the inner of two parallel lines, {sew.apart:.1f} mm apart"
        sew.guessed = True
