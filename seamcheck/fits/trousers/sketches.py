"""What is drawn of each fault of trousers and of each cut: folds on the garment, and lines on its right leg."""

from __future__ import annotations

from dataclasses import replace

from seamcheck.fits.sketch import LANDMARKS, Crease, Cut, Sketch


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
        _tight(3.4 + 33.0j, 6.0 + 35.2j, 15.0 + 35.2j, 18.4 + 32.6j),
        _tight(3.8 + 36.2j, 6.4 + 38.2j, 15.0 + 38.2j, 18.6 + 35.8j),
        _tight(4.4 + 43.6j, 6.6 + 41.2j, 15.0 + 41.2j, 18.0 + 43.8j),
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

_HIP, _SIDE = LANDMARKS["hip"], LANDMARKS["side waist"]
_KNEE_OUT, _KNEE_IN = LANDMARKS["knee outside"], LANDMARKS["knee inside"]
_CROTCH = LANDMARKS["crotch"]


def _cut(seen: Sketch, *cuts: Cut) -> Sketch:
    return replace(seen, cuts=cuts)


CALF = _cut(
    DOWN_THE_LEG,
    Cut((18.5 + 69j, 5.4 + 58j), "slash", "overlap"),
    Cut((12.0 + 63.5j, 0.4 + 26j), "slash", "spread"),
)
SWAY = _cut(POOLED, Cut((0.0 + 15j, 20.6 + 11j), "slash", "overlap"))
QUICK = _cut(
    POOLED_AND_GAPING,
    Cut((0.0 + 15j, 1.2 + 0j), "line"),
    Cut((7.4 + 0j, 8.5 + 10j, 9.6 + 0j), "line"),
)
BAND = _cut(GAPING, Cut((6.0 - 4j, 6.2 + 0j), "slash", "overlap"), Cut((11.6 - 4j, 11.8 + 0j), "slash", "overlap"))
FLAT = _cut(SLANTING_UP, Cut((1.9 + 31.6j, 4.4 + 42j, _KNEE_IN), "line"))
LOW = _cut(LEVEL, Cut((0.0 + 17j, 1.2 + 27j, _CROTCH), "line"))
DEEP = _cut(TURNED, Cut((-1.9 + 31.4j, 1.4 + 42j, _KNEE_IN), "line"))
FULL = _cut(RAYS_BEHIND, Cut((0.0 + 19j, _HIP + 2j), "slash", "spread"))
TUMMY = _cut(RAYS_BEFORE, Cut((0.0 + 9j, 20.0 + 9j), "slash", "spread"))
FRONT_CROTCH = _cut(WHISKERS, Cut((-1.7 + 31.4j, 1.4 + 42j, _KNEE_IN), "line"))
KNOCK = _cut(KNEES_IN, Cut((_KNEE_IN, _KNEE_OUT), "slash", "spread"))
BOW = _cut(KNEES_OUT, Cut((_KNEE_OUT, _KNEE_IN), "slash", "spread"))
THIGH = _cut(ROUND_THE_THIGH, Cut((_HIP, 22.4 + 38j, _KNEE_OUT), "line"))
DEPTH = _cut(CUTS_IN, Cut((0.0 + 23j, 21.4 + 23j), "across", "spread"))
LEG = _cut(HEM, Cut((5.9 + 80j, 18.0 + 80j), "across", "spread"))
