"""What is drawn of each fault of trousers, as folds on the garment, and of each fit, as cuts and lines on its piece."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

from seamcheck.fits.sketch import Crease, Cut, Sketch


def _tight(*points: complex, both: bool = True) -> Crease:
    return Crease(points, "tight", both)


def _loose(*points: complex, both: bool = True) -> Crease:
    return Crease(points, "loose", both)


def _rays(centre: complex, ends: tuple[complex, ...], gap: float = 2.2, *, both: bool = True) -> tuple[Crease, ...]:
    """Tight folds from round a spot to some ends."""
    return tuple(_tight(centre + gap * (end - centre) / abs(end - centre), end, both=both) for end in ends)


POOLED = Sketch(
    view="back",
    creases=tuple(
        _loose(-half + y * 1j, (y + sag) * 1j, half + y * 1j, both=False)
        for half, y, sag in ((9.0, 3.0, 2.0), (10.5, 6.0, 2.4), (8.0, 9.6, 2.0))
    ),
)
GAPING = Sketch(view="back", gapes=True)
POOLED_AND_GAPING = replace(POOLED, gapes=True)
LEVEL = Sketch(
    view="back",
    creases=(_tight(4.0 + 35j, 17.5 + 35j), _tight(4.5 + 37.6j, 18.5 + 37.6j), _tight(5.0 + 40.2j, 17.0 + 40.2j)),
)
TURNED = Sketch(
    view="back",
    creases=(
        _tight(3.6 + 32.4j, 4.8 + 34.6j, 7.0 + 35.2j, 11.0 + 35.2j, 15.0 + 35.2j, 17.2 + 34.6j, 18.6 + 32.4j),
        _tight(4.0 + 36.0j, 5.2 + 37.8j, 7.2 + 38.4j, 11.0 + 38.4j, 15.0 + 38.4j, 17.2 + 37.8j, 18.6 + 36.0j),
        _tight(4.6 + 44.4j, 5.6 + 42.2j, 7.6 + 41.6j, 11.0 + 41.6j, 15.0 + 41.6j, 17.0 + 42.2j, 18.2 + 44.4j),
    ),
)
SLANTING_UP = Sketch(
    view="back",
    creases=tuple(
        _loose(x + y * 1j, (x + 18.4) / 2 + 1.4 + (y - 4.2) * 1j, 18.4 + (y - 9.0) * 1j)
        for x, y in ((3.4, 42.0), (4.0, 46.5), (4.6, 51.0))
    ),
)
RAYS_BEHIND = Sketch(
    view="back",
    creases=_rays(
        19j,
        (
            18.6 + 9j, 20.4 + 18j, 18.4 + 28j, 10.0 + 31j,
        ),
        3.6,
    ) + _rays(19j, (8.0 + 3.4j,), 3.6),
)  # fmt: skip
DOWN_THE_LEG = Sketch(
    view="back",
    creases=tuple(
        _loose(x + y * 1j, 11.0 + (y + 5.6) * 1j, 18.2 + (y + 11.0) * 1j)
        for x, y in ((3.4, 37.0), (4.2, 43.0), (4.8, 49.0))
    ),
)
RAYS_BEFORE = Sketch(
    view="front",
    creases=_rays(9j, (17.4 + 4j, 19.6 + 11j, 18.4 + 19j, 9.0 + 24j), 4.0),
)
WHISKERS = Sketch(
    view="front",
    creases=_rays(30j, (8.0 + 19j, 13.6 + 22j, 17.0 + 27j, 16.0 + 33.4j), 2.6),
)
CUTS_IN = Sketch(
    view="back",
    creases=(_tight(1.6 + 29j, 9.0 + 22.5j), _tight(2.6 + 31j, 12.5 + 26.5j), _tight(3.0 + 33.4j, 12.0 + 33.4j)),
)
ROUND_THE_THIGH = Sketch(
    view="front",
    creases=tuple(
        _tight((4.2 + drift) + y * 1j, 19.6 - drift / 2 + y * 1j)
        for drift, y in ((0.0, 39.0), (0.3, 42.5), (0.6, 46.0), (0.8, 49.5))
    ),
)
KNEES_IN = Sketch(
    view="back",
    creases=(
        _tight(6.6 + 61j, 15.5 + 69j), _tight(6.8 + 64j, 15.2 + 75j),
        _loose(18.0 + 55j, 14.6 + 57.5j, 12.0 + 57j), _loose(18.2 + 59.5j, 15.4 + 61.6j, 13.2 + 61.2j),
    ),
)  # fmt: skip
KNEES_OUT = Sketch(
    view="back",
    creases=(
        _tight(17.4 + 61j, 8.6 + 69j), _tight(17.2 + 64j, 8.8 + 75j),
        _loose(6.0 + 55j, 9.4 + 57.5j, 12.0 + 57j), _loose(6.0 + 59.5j, 8.8 + 61.6j, 11.0 + 61.2j),
    ),
)  # fmt: skip
UPRIGHT = Sketch(
    view="front",
    creases=(_loose(3.0 + 20j, 3.6 + 27j, 3.4 + 34j), _loose(6.4 + 22j, 7.0 + 29j, 7.0 + 36j)),
)
HEM = Sketch(view="back")


def _done(seen: Sketch, piece: Literal["back", "front", "back waistband"], *cuts: Cut) -> Sketch:
    return replace(seen, piece=piece, cuts=cuts)


def _slash(opens: complex, hinge: complex, how: Literal["spread", "overlap"] | None) -> Cut:
    return Cut((opens, hinge), "slash", how)


def _line(*points: complex) -> Cut:
    return Cut(points, "line")


CALF = _done(
    DOWN_THE_LEG,
    "back",
    _slash(14.0 + 70.3j, -10.0 + 62.0j, "overlap"),
    _slash(2.0 + 66.1j, -10.5 + 18.8j, None),
)
SWAY = _done(POOLED, "back", _slash(-9.0 + 14.2j, 17.9 + 10.0j, "overlap"))
QUICK = _done(
    POOLED_AND_GAPING,
    "back",
    _line(-8.4 + 12.0j, -3.0 - 0.9j),
    _line(4.4 + 0.2j, 4.3 + 11.5j),
    _line(8.2 + 0.7j, 4.3 + 11.5j),
)
BAND = _done(
    GAPING,
    "back waistband",
    _slash(-4.8 + 42.4j, -4.2 + 49.4j, "overlap"),
    _slash(5.0 + 41.0j, 6.0 + 48.2j, "overlap"),
)
FLAT = _done(SLANTING_UP, "back", _line(-16.2 + 24.4j, -13.4 + 36j, -11.4 + 47j, -10.0 + 58j))
LOW = _done(LEVEL, "back", _line(-8.7 + 13.0j, -9.5 + 18.4j, -11.3 + 22.5j, -14.4 + 24.4j, -17.9 + 24.7j))
DEEP = _done(
    TURNED, "back", _line(-17.9 + 24.7j, -19.9 + 24.9j), _line(-19.9 + 24.9j, -16.0 + 36j, -12.6 + 47j, -10.0 + 58j)
)
FULL = _done(RAYS_BEHIND, "back", _slash(-8.8 + 13.4j, 18.3 + 13.4j, "spread"))
TUMMY = _done(RAYS_BEFORE, "front", _slash(9.9 + 8.8j, -14.5 + 8.8j, "spread"))
FRONT_CROTCH = _done(
    WHISKERS, "front", _line(15.2 + 24j, 17.0 + 24.6j), _line(17.0 + 24.6j, 14.6 + 36j, 12.4 + 47j, 11.0 + 58j)
)
KNOCK = _done(KNEES_IN, "back", _slash(-10.0 + 60.6j, 14.0 + 60.6j, "spread"))
BOW = _done(KNEES_OUT, "back", _slash(14.0 + 60.6j, -10.0 + 60.6j, "spread"))
THIGH = _done(ROUND_THE_THIGH, "back", _line(18.4 + 15.5j, 19.8 + 27j, 18.6 + 38j, 14.0 + 58j))
DEPTH = _done(CUTS_IN, "back", Cut((-8.6 + 12.8j, 18.2 + 12.8j), "across", "spread"))
LEG = _done(HEM, "back", Cut((-10.0 + 80j, 14.0 + 80j), "across", "spread"))
