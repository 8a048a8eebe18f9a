"""Small pieces made in memory: outlines as points (mm, y down, clockwise as seen), with notches, grain and names."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from seamcheck.geometry.curve import Curve
from seamcheck.pattern.drawing import Drawing, LineMark, Role, TextMark
from seamcheck.pattern.model import Pattern
from seamcheck.pieces.build import build_pattern
from seamcheck.pieces.outline import assemble
from seamcheck.places import Place

GAP = 3000.0


def pattern(*pieces: Mapping[str, object], y_down: bool = True) -> Pattern:
    """A pattern of pieces, each placed clear of the others; with y up their points are seen upside down."""
    lines, texts = [], []
    for number, piece in enumerate(pieces):
        lines_of, texts_of = _marks(number, **piece)
        lines += lines_of
        texts += texts_of
    drawing = Drawing(
        path="made.svg", format="svg", y_down=y_down, units="mm", lines=tuple(lines), texts=tuple(texts), name="made"
    )
    return build_pattern(drawing, assemble(drawing), None)


def _marks(
    number: int,
    *,
    name: str,
    outline: Sequence[complex] | Curve,
    notches: Sequence[complex] = (),
    grain: tuple[complex, complex] | None = None,
    cut: str = "",
) -> tuple[list[LineMark], list[TextMark]]:
    move = complex(GAP * number, 0.0)
    curve = outline if isinstance(outline, Curve) else Curve.polyline([*outline, outline[0]])
    curve = Curve(curve.segments + move)
    group = (name,) if name else (f"g{number}",)
    lines = [LineMark(curve=curve, closed=True, place=Place(f"piece {number}"), role=Role.SEW, groups=group)]
    for k, at in enumerate(notches):
        station = curve.nearest(at + move).station
        inward = curve.tangent(station) * 1j
        point = curve.point(station)
        lines.append(
            LineMark(
                curve=Curve.line(point, point + 5 * inward),
                closed=False,
                place=Place(f"notch {number}-{k}"),
                role=Role.NOTCH,
                groups=group,
            )
        )
    if grain is not None:
        lines.append(
            LineMark(
                curve=Curve.line(grain[0] + move, grain[1] + move),
                closed=False,
                place=Place(f"grain {number}"),
                role=Role.GRAIN,
                groups=group,
            )
        )
    centre = curve.polygon().mean()
    texts = [
        TextMark(at=complex(centre), text=text, place=Place(f"text {number}"), groups=group)
        for text in (name, cut)
        if text
    ]
    return lines, texts


def rectangle(name: str, width: float, height: float, **more: object) -> dict[str, object]:
    """A rectangle with its grain upright."""
    outline = [0j, complex(width, 0), complex(width, height), complex(0, height)]
    middle = width / 2
    return {
        "name": name,
        "outline": outline,
        "grain": (complex(middle, height * 0.8), complex(middle, height * 0.2)),
        **more,
    }


def leg(
    name: str, *, hem: float, outer: float, inner: float, cut: str = "Cut 2", **more: object
) -> dict[str, object]:
    """A straight-sided trouser leg without crotch curve: waist, slanting inseam, hem, outseam."""
    outline = [0j, complex(hem + 40, 0), complex(hem + 60, outer - inner), complex(hem, outer), complex(0, outer)]
    return {
        "name": name,
        "outline": outline,
        "grain": (complex(hem / 2, outer * 0.8), complex(hem / 2, outer * 0.2)),
        "cut": cut,
        **more,
    }
