"""Path data and the basic shapes of SVG as cubic segments in user units.

The grammar is that of SVG 1.1, section 8.3 (which allows `10.`), read to the last character: a token that does
not fit is an error with its place, never the silent end of the path. Arcs follow SVG 1.1, appendix F.6.

It is read by our own code. The library that was meant for it stops in silence at a bad token, takes semicircles
1e-8 of their radius wrong, and smooth commands after another kind of curve wrongly. A truncated outline is the one
thing that a checker must not accept. The library stays as a measure in `tests/outside`.
"""

from __future__ import annotations

import cmath
import math
import re
from dataclasses import dataclass, field

import numpy as np

from seamcheck.geometry.curve import Curve
from seamcheck.reading.svg.tree import Node, in_words
from seamcheck.reading.svg.units import length_of, numbers

_SEPARATOR = re.compile(r"[ \t\r\n\f]*,?[ \t\r\n\f]*")
_BLANK = re.compile(r"[ \t\r\n\f]*")
_NUMBER = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?")
_NOT_FINITE = re.compile(r"[+-]?(?:nan|inf(?:inity)?)", re.IGNORECASE)
LARGEST = 1e15  # no number in a drawing is larger, and with none that is, arithmetic stays finite
WIDEST = 1e9  # mm; an arc of a larger radius is one of a drawing gone wrong
_ARGUMENTS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}


class ShapeError(Exception):
    """Data that cannot be drawn; `str()` is the reason in words. `endless` tells that a number was not finite."""

    def __init__(self, reason: str, *, endless: bool = False) -> None:
        """Keep the reason."""
        super().__init__(reason)
        self.endless = endless


@dataclass(slots=True)
class Subpath:
    """One pen stroke from `start`: cubic segments of four points each, and whether it is closed."""

    start: complex
    segments: list[tuple[complex, complex, complex, complex]] = field(default_factory=list)
    closed: bool = False

    @property
    def end(self) -> complex:
        """Where the pen stands."""
        return self.segments[-1][3] if self.segments else self.start

    def line(self, to: complex) -> None:
        """Draw a straight line."""
        start = self.end
        third = (to - start) / 3.0
        self.segments.append((start, start + third, to - third, to))

    def quadratic(self, control: complex, to: complex) -> None:
        """Draw a quadratic curve, raised to a cubic exactly."""
        start = self.end
        self.segments.append((start, start + (control - start) * 2.0 / 3.0, to + (control - to) * 2.0 / 3.0, to))

    def cubic(self, first: complex, second: complex, to: complex) -> None:
        """Draw a cubic curve."""
        self.segments.append((self.end, first, second, to))

    def arc(
        self,
        radius_x: float,
        radius_y: float,
        rotation: float,
        large: bool,
        clockwise: bool,
        to: complex,
        scale: float,
    ) -> None:
        """Draw an elliptical arc, given by its ends; `clockwise` is the sweep flag, as seen with y down."""
        start, radius_x, radius_y = self.end, abs(radius_x), abs(radius_y)
        if start == to:
            return
        if min(radius_x, radius_y) < 1.0 / LARGEST:
            self.line(to)
            return
        turn = cmath.rect(1.0, math.radians(rotation))
        half = (start - to) / 2.0 / turn
        across, down = half.real / radius_x, half.imag / radius_y
        reach = across * across + down * down
        if reach > 1.0:  # the ellipse is too small to reach: it is made just large enough
            grow = math.sqrt(reach)
            radius_x, radius_y, across, down, reach = (
                radius_x * grow,
                radius_y * grow,
                across / grow,
                down / grow,
                1.0,
            )
        away = math.sqrt(max(0.0, (1.0 - reach) / reach)) * (-1.0 if large == clockwise else 1.0)
        # On the unit circle that the ellipse is a picture of.
        unit = complex(across, down)
        centre = away * complex(down, -across)
        first, last = (unit - centre), (-unit - centre)
        sweep = math.degrees(cmath.phase(last / first))
        if clockwise and sweep < 0.0:
            sweep += 360.0
        elif not clockwise and sweep > 0.0:
            sweep -= 360.0
        middle = (start + to) / 2.0 + complex(centre.real * radius_x, centre.imag * radius_y) * turn
        angle = math.degrees(cmath.phase(first))
        self._ellipse(middle, radius_x, radius_y, rotation, angle, sweep, scale, to)

    def _ellipse(
        self,
        centre: complex,
        radius_x: float,
        radius_y: float,
        rotation: float,
        angle: float,
        sweep: float,
        scale: float,
        to: complex,
    ) -> None:
        if max(radius_x, radius_y) * scale > WIDEST:
            raise ShapeError(f"its radius of {max(radius_x, radius_y) * scale:.3g} mm is too large")
        # Drawn at the size that it has in mm, so that the kernel's tolerance holds there.
        curve = Curve.arc(
            centre * scale, radius_x * scale, radius_y * scale, rotation=rotation, start=angle, sweep=sweep
        )
        pieces = curve.segments / scale
        pieces[0, 0], pieces[-1, 3] = self.end, to
        self.segments.extend(tuple(piece) for piece in pieces.tolist())

    def close(self) -> None:
        """Draw back to the start unless the pen is there."""
        if self.end != self.start:
            self.line(self.start)
        self.closed = True

    @property
    def array(self) -> np.ndarray:
        """The segments as complex numbers of shape (n, 4)."""
        return np.array(self.segments, dtype=np.complex128).reshape(-1, 4)


def ellipse(centre: complex, radius_x: float, radius_y: float, scale: float) -> Subpath:
    """A whole ellipse from its rightmost point, turning the way SVG does."""
    start = centre + radius_x
    path = Subpath(start)
    if min(radius_x, radius_y) < 1.0 / LARGEST:
        return path
    path._ellipse(centre, radius_x, radius_y, 0.0, 0.0, 360.0, scale, start)
    path.closed = True
    return path


class _Scanner:
    """Path data and the place in it."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.position = _BLANK.match(text).end()  # type: ignore[union-attr]

    def skip(self) -> None:
        self.position = _SEPARATOR.match(self.text, self.position).end()  # type: ignore[union-attr]

    def done(self) -> bool:
        return self.position >= len(self.text)

    def error(self, wanted: str) -> ShapeError:
        here = self.text[self.position : self.position + 12]
        if match := _NOT_FINITE.match(self.text, self.position):
            return ShapeError(f"the number {in_words(match[0])} stands in its path data", endless=True)
        found = f'"{in_words(here)}"' if here else "the end"
        return ShapeError(f"its path data holds {found} at character {self.position + 1} where {wanted} should stand")

    def number(self) -> float:
        match = _NUMBER.match(self.text, self.position)
        if match is None:
            raise self.error("a number")
        value = float(match[0])
        if abs(value) > LARGEST:
            raise ShapeError(f"the number {in_words(match[0])} stands in its path data", endless=True)
        self.position = match.end()
        self.skip()
        return value

    def flag(self) -> float:
        if self.text[self.position : self.position + 1] not in ("0", "1"):
            raise self.error("0 or 1")
        value = float(self.text[self.position])
        self.position += 1
        self.skip()
        return value

    def command(self, previous: str) -> str:
        """The next command letter; a number repeats the previous command, a pair after a move being a line."""
        letter = self.text[self.position]
        if letter.upper() in _ARGUMENTS:
            self.position = _BLANK.match(self.text, self.position + 1).end()  # type: ignore[union-attr]
            return letter
        if previous == "" or previous in "Zz" or _NUMBER.match(self.text, self.position) is None:
            raise self.error("a command")
        return {"M": "L", "m": "l"}.get(previous, previous)


def path(data: str, scale: float) -> list[Subpath]:
    """The pen strokes of path data in user units; `scale` is about how many mm a user unit is.

    ShapeError when the data does not follow the grammar or holds a number that is not finite.
    """
    if data.strip() in ("", "none"):
        return []
    scan = _Scanner(data)
    strokes: list[Subpath] = []
    previous = ""
    pen = start = 0j
    handle: complex | None = None  # the last control point, which S and T reflect
    while not scan.done():
        letter = scan.command(previous)
        kind = letter.upper()
        if not strokes and kind != "M":
            raise ShapeError(f"its path data begins with {letter} and not with M")
        if kind == "A":
            values = [
                scan.number(),
                scan.number(),
                scan.number(),
                scan.flag(),
                scan.flag(),
                scan.number(),
                scan.number(),
            ]
        else:
            values = [scan.number() for _ in range(_ARGUMENTS[kind])]
        if kind == "Z":
            strokes[-1].close()
            pen, handle, previous = start, None, letter
            scan.skip()
            continue
        origin = pen if letter.islower() else 0j
        if kind == "M":
            pen = start = origin + complex(*values)
            strokes.append(Subpath(start))
            handle, previous = None, letter
            continue
        if strokes[-1].closed:  # drawing goes on from where the last stroke closed
            strokes.append(Subpath(start))
        stroke = strokes[-1]
        new_handle: complex | None = None
        if kind == "H":
            stroke.line(complex(origin.real + values[0], pen.imag))
        elif kind == "V":
            stroke.line(complex(pen.real, origin.imag + values[0]))
        elif kind == "A":
            to = origin + complex(values[5], values[6])
            stroke.arc(values[0], values[1], values[2], values[3] == 1.0, values[4] == 1.0, to, scale)
        else:
            points = [origin + complex(x, y) for x, y in zip(values[::2], values[1::2], strict=True)]
            if kind == "L":
                stroke.line(points[0])
            elif kind in "CS":
                if kind == "S":
                    mirrored = 2.0 * pen - handle if handle is not None and previous in "CcSs" else pen
                    points.insert(0, mirrored)
                stroke.cubic(*points)
                new_handle = points[1]
            else:
                if kind == "T":
                    mirrored = 2.0 * pen - handle if handle is not None and previous in "QqTt" else pen
                    points.insert(0, mirrored)
                stroke.quadratic(*points)
                new_handle = points[0]
        pen = stroke.end
        handle, previous = new_handle, letter
    return strokes


def shape(node: Node, viewport: tuple[float, float], scale: float) -> list[Subpath]:
    """The pen strokes of any shape element in user units; none where the standard draws nothing.

    ShapeError as for `path`, and for lengths that are none.
    """
    width, height = viewport
    diagonal = math.sqrt((width * width + height * height) / 2.0)

    def read(name: str, percent_of: float) -> float:
        value = length_of(node.attributes, name, percent_of)
        if not math.isfinite(value):
            text = node.get(name).strip()
            endless = math.isinf(value) or _NOT_FINITE.match(text) is not None
            raise ShapeError(f'its {name} is "{in_words(text)}", which is no length', endless=endless)
        if abs(value) > LARGEST:
            raise ShapeError(f"its {name} is {value:g}", endless=True)
        return value

    match node.tag:
        case "path":
            return path(node.get("d"), scale)
        case "line":
            stroke = Subpath(complex(read("x1", width), read("y1", height)))
            stroke.line(complex(read("x2", width), read("y2", height)))
            return [stroke]
        case "polyline" | "polygon":
            return _poly(node)
        case "circle":
            radius = read("r", diagonal)
            centre = complex(read("cx", width), read("cy", height))
            return [ellipse(centre, radius, radius, scale)] if radius > 0.0 else []
        case "ellipse":
            centre = complex(read("cx", width), read("cy", height))
            radius_x, radius_y = _radii(node, read("rx", width), read("ry", height))
            return [ellipse(centre, radius_x, radius_y, scale)] if radius_x > 0.0 and radius_y > 0.0 else []
        case "rect":
            corner = complex(read("x", width), read("y", height))
            size = complex(read("width", width), read("height", height))
            return _rect(corner, size, *_radii(node, read("rx", width), read("ry", height)), scale)
    raise AssertionError(node.tag)


def _poly(node: Node) -> list[Subpath]:
    text = node.get("points")
    values = numbers(text)
    if values is None:
        endless = _NOT_FINITE.search(text) is not None
        raise ShapeError("its list of points holds something that is no number", endless=endless)
    if any(abs(value) > LARGEST for value in values):
        raise ShapeError("its list of points holds a number that is not finite or far too large", endless=True)
    if len(values) % 2:
        raise ShapeError("its list of points ends with half a point")
    points = [complex(x, y) for x, y in zip(values[::2], values[1::2], strict=True)]
    if not points:
        return []
    stroke = Subpath(points[0])
    for point in points[1:]:
        stroke.line(point)
    if node.tag == "polygon":
        stroke.close()
    return [stroke]


def _radii(node: Node, radius_x: float, radius_y: float) -> tuple[float, float]:
    """Both radii, where a missing or `auto` one follows the other."""
    automatic_x = node.get("rx").strip() in ("", "auto")
    automatic_y = node.get("ry").strip() in ("", "auto")
    return (radius_y if automatic_x else radius_x), (radius_x if automatic_y else radius_y)


def _rect(corner: complex, size: complex, radius_x: float, radius_y: float, scale: float) -> list[Subpath]:
    if size.real <= 0.0 or size.imag <= 0.0:
        return []
    across, down = min(max(radius_x, 0.0), size.real / 2.0), min(max(radius_y, 0.0), size.imag / 2.0)
    if across == 0.0 or down == 0.0:
        across = down = 0.0
    left, top, right, bottom = corner.real, corner.imag, corner.real + size.real, corner.imag + size.imag
    stroke = Subpath(complex(left + across, top))
    # From the top edge on, clockwise as seen; each side is followed by its corner's quarter.
    for to, turned in (
        (complex(right - across, top), complex(right, top + down)),
        (complex(right, bottom - down), complex(right - across, bottom)),
        (complex(left + across, bottom), complex(left, bottom - down)),
        (complex(left, top + down), complex(left + across, top)),
    ):
        if to != stroke.end:
            stroke.line(to)
        if across:
            stroke.arc(across, down, 0.0, False, True, turned, scale)
    stroke.closed = True
    return [stroke]
