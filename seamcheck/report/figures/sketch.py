"""The small drawing of a fit: the garment with the folds that are seen on it, and beside it the piece with what is done to it.

Units are mm on paper; points are those of `fits/sketch.py`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from seamcheck.fits.fit import Answer, Fit
from seamcheck.fits.sketch import GARMENT, PIECES, SHARP, Cut, Sketch
from seamcheck.geometry.curve import Affine, Curve
from seamcheck.report import pen
from seamcheck.report.figures.base import SMALL, TEXT, Figure, disc, hatch, line, plain, stroke, text
from seamcheck.report.figures.looks import Kind

WIDE = 56.0  # of the garment, and of the piece beside it
TOP, BOTTOM = -17.0, 104.0
HEAD = -14.0  # the base line of what stands over each
SWUNG = 0.09  # of a slash: half of how far it is drawn open
MOST_SWUNG = 1.6
HINGE = 1.1
MIDDLE = 8.0  # mm to either side of the middle of a piece
BESIDE = 1.2  # between the end of a cut and its word
SAMPLE = 8.0  # the length of a line in the key
ROW = 4.4
VIEWS = {"back": "from behind", "front": "from the front"}


class Sample(NamedTuple):
    """A row of the key: how a line is drawn, and what it is."""

    kind: Kind
    words: str


def fit_figure(fit: Fit) -> Figure | None:
    """What is seen and what is done; None for a fit that brings no drawing."""
    if fit.sketch is None:
        return None
    return _figure(fit.sketch, fit.title, " ".join(fit.done), tuple(fit.also))


def answer_figure(answer: Answer) -> Figure | None:
    """What an answer means, drawn on the garment; None for one that needs no drawing."""
    if answer.sketch is None:
        return None
    words = answer.words[:1].upper() + answer.words[1:]
    return _figure(answer.sketch, words, f"Trousers seen {VIEWS[answer.sketch.view]}.", (), key=False)


def _figure(sketch: Sketch, title: str, description: str, also: tuple[str, ...], *, key: bool = True) -> Figure:
    parts = [*_garment(sketch)]
    width = WIDE
    if key:
        parts.append(text(1j * HEAD, plain(f"seen {VIEWS[sketch.view]}"), TEXT, "middle quiet"))
    if sketch.piece is not None:
        width = 2 * WIDE
        alike = f" (and the {' and the '.join(also)})" if also else ""
        parts.append(text(WIDE + 1j * HEAD, plain(f"the {sketch.piece}{alike}"), TEXT, "middle quiet"))
        parts += _piece(sketch, Affine.translation(WIDE + 0j))
    rows = list(_key(sketch)) if key else []
    left = -WIDE / 2
    for number, row in enumerate(rows):
        at = complex(left + 4.0, BOTTOM + ROW * (number + 0.8))
        sample = at - 0.35j * SMALL
        parts += [line(sample, sample + SAMPLE, row.kind), text(at + SAMPLE + 2.0, plain(row.words), SMALL)]
    high = BOTTOM - TOP + (ROW * len(rows) + 1.0 if rows else 0.0)
    return Figure(parts=tuple(parts), box=(left, TOP, width, high), title=title, description=description)


def _smooth(points: Sequence[complex], *, sharp: bool = False) -> Curve:
    return Curve.through(points) if len(points) > 2 and not sharp else Curve.polyline(points)


def _both(points: Sequence[complex], kind: str) -> str:
    """A line through points on the right, and its mirror image on the left."""
    return "".join(stroke(pen.path(_smooth(side)), kind) for side in (points, [-at.conjugate() for at in points]))


def _garment(sketch: Sketch) -> Iterator[str]:
    at = GARMENT
    yield _both([at["side waist"], at["hip"], 20.6 + 36j, at["knee outside"], at["hem outside"]], Kind.SEWN)
    yield _both([at["crotch"], 2.6 + 38j, at["knee inside"], at["hem inside"]], Kind.SEWN)
    yield _both([at["hem inside"], at["hem outside"]], Kind.SEWN)
    waist = [-17.0 + 0j, 0.9j, 17.0 + 0j]
    yield stroke(pen.path(_smooth(waist)), Kind.SEAM)
    yield _both([at["side waist"], 16.4 - 5j], Kind.SEWN)
    yield stroke(pen.path(_smooth([-16.4 - 5j, -3.6j if sketch.gapes else -4.2j, 16.4 - 5j])), Kind.SEWN)
    if sketch.gapes:  # the other rim, seen from a little above, and the back of the body between both
        yield stroke(pen.path(_smooth([-16.4 - 5j, -11.5j, 16.4 - 5j])), Kind.SEWN)
        yield stroke(pen.path(_smooth([-14.6 - 6j, -8.6j, 14.6 - 6j])), Kind.EARLIER)
    yield line(0.9j, at["crotch"], Kind.SEAM)
    if sketch.view == "back":
        yield _both([8.5 + 0.6j, 8.5 + 10j], Kind.SEAM)
    else:  # the stitching of the fly, and the pockets
        yield stroke(pen.path(_smooth([3.4 + 0.8j, 3.4 + 13j, 2.4 + 18j, 0.2 + 21j])), Kind.SEAM)
        yield _both([11.0 + 0.5j, 19.6 + 11j], Kind.SEAM)
    for crease in sketch.creases:
        if crease.both:
            yield _both(crease.points, crease.cloth)
        else:
            yield stroke(pen.path(_smooth(crease.points)), crease.cloth)


def _piece(sketch: Sketch, move: Affine) -> Iterator[str]:
    assert sketch.piece is not None
    for number, points in enumerate(PIECES[sketch.piece]):
        edge = _smooth(points, sharp=number in SHARP[sketch.piece])
        yield stroke(pen.path(edge.transformed(move)), Kind.EDGE)
    for cut in sketch.cuts:
        moved = [complex(move.apply(point)) for point in cut.points]
        yield stroke(pen.path(_smooth(moved)), Kind.OUGHT) if cut.what == "line" else _opened(cut, *moved)


def _opened(cut: Cut, opens: complex, hinge: complex) -> str:
    """A cut as it lies once it is spread or overlapped, drawn wider than it is; what lies double is hatched."""
    way = (opens - hinge) / abs(opens - hinge)
    aside = 1j * way * min(MOST_SWUNG, SWUNG * abs(opens - hinge))
    far = aside if cut.what == "across" else 0j
    drawn = line(opens + aside, hinge + far, Kind.SLASH) + line(opens - aside, hinge - far, Kind.SLASH)
    if cut.opens == "overlap":
        drawn += stroke(hatch([opens + aside, hinge, opens - aside]), Kind.FINE)
    if cut.opens is not None:
        drawn += _word(opens, way, cut.opens)
    if cut.what == "slash":
        drawn += disc(hinge, HINGE, "hinge") + _word(hinge - HINGE * way, -way, "hinge")
    return drawn


def _word(at: complex, way: complex, word: str) -> str:
    """A word beside an end of a cut: outside the piece at its sides, else above or below it."""
    if abs(at.real - WIDE) < MIDDLE:
        base = at + 1j * (BESIDE + SMALL * 0.8 if way.imag > 0 else -BESIDE)
        return text(base, plain(word), SMALL, "middle")
    side = 1.0 if at.real > WIDE else -1.0
    return text(at + side * BESIDE + 0.35j * SMALL, plain(word), SMALL, "" if side > 0 else "end")


def _key(sketch: Sketch) -> Iterator[Sample]:
    cloth = {crease.cloth for crease in sketch.creases}
    if "tight" in cloth:
        yield Sample(Kind.TIGHT, "a tight fold: the cloth is pulled")
    if "loose" in cloth:
        yield Sample(Kind.LOOSE, "a loose fold: it can be pinched")
    if sketch.gapes:
        yield Sample(Kind.EARLIER, "the back of the body")
    if any(cut.what != "line" for cut in sketch.cuts):
        yield Sample(Kind.SLASH, "where it is cut")
    if any(cut.what == "line" for cut in sketch.cuts):
        yield Sample(Kind.OUGHT, "the new line")
