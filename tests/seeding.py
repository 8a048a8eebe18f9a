"""One fault seeded in one pattern: was it found, and what else was said?

What else follows from a fault is worked out from the drafts alone: a seam whose sides differ now, a corner that has
turned. Anything beyond that is a false alarm.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import NamedTuple

from seeded_kinds import BLEND, KINDS, SIXTEENTH, sewn
from seeded_patterns import FURTHER, MAKERS, OTHERS, Spoilt, clean, judged

from seamcheck.checks.base import Severity

SIZES = (0.5, 1.1, 1.5, 2.5, 4.0)


class Seeded(NamedTuple):
    """One seeded fault: whether it was found, how severe, and what else was said."""

    kind: str
    size: float
    pattern: str
    form: str
    found: bool
    failed: str
    others: tuple[str, ...]


def seed(
    number: int, size: float, name: str, form: str, hand: Callable[[Spoilt], Spoilt] = lambda spoilt: spoilt
) -> Seeded | None:
    """Seed one fault, write, read and judge it; None where the pattern has no place for its kind.

    `hand` may draw the spoilt pattern otherwise before it is written, as by tracing.
    """
    kind, pattern = KINDS[number], clean(name)
    places = kind.places(pattern)
    if not places:
        return None
    place = places[
        (
            number
            + SIZES.index(size) * (kind.tolerance is None)
            + next(sorted(names).index(name) for names in (MAKERS, OTHERS, FURTHER) if name in names)
        )
        % len(places)
    ]
    band = kind.band(pattern, place) if kind.band else kind.tolerance
    spoilt = kind.make(pattern, place, size * band if band else size)
    with TemporaryDirectory() as folder:
        result = judged(hand(spoilt), form, Path(folder))
    severe = [one for one in result.findings if one.severity is not Severity.NOTE or kind.codes == ("short",)]
    seams, turned = follows(spoilt)
    its_seams = set(sewn(pattern).get((place.piece, place.edge), ()))
    own, others = [], []
    for one in severe:
        about = (
            (place.piece in one.pieces and not (its_seams and one.seam))
            or one.seam in (its_seams or seams)
            or kind.check in ("outline-closed", "plan-complete")
        )
        if (
            (one.check == kind.check or one.check in kind.also)
            and about
            and (one.code in kind.codes or one.check in kind.also)
        ):
            own.append(one)
        elif not (
            (one.check in LENGTHS and one.seam in seams)
            or (one.check in ANGLES and turned & set(one.pieces))
            or (kind.check == "outline-closed" and one.code == "piece-missing")  # nobody can tell its name any more
        ):
            others.append(one)
    worst = min((one.severity.rank for one in own), default=Severity.WARNING.rank)
    loud = [one for one in others if one.severity.rank <= worst]
    expected_failure = kind.check == "outline-closed" or kind.codes == ("piece-missing",)
    failed = "" if expected_failure else "; ".join(result.failures)
    return Seeded(
        kind.name,
        size,
        name,
        form,
        bool(own),
        failed,
        tuple(f"{one.check}/{one.code}: {one.message}" for one in loud),
    )


def follows(spoilt: Spoilt) -> tuple[set[str], set[str]]:
    """What else is no longer true: seams whose sides differ by more than half a tolerance, pieces with a turned corner.

    Worked out from the drafts alone.
    """
    clean = spoilt.clean
    seams = set()
    for name, *_ in clean.seams:
        sides = clean.sides(name)
        if any(key not in spoilt.pieces for side in sides for key, _ in side):
            seams.add(name)
            continue
        before, after = (
            sum(pieces[key].length(edge) for key, edge in sides[0])
            - sum(pieces[key].length(edge) for key, edge in sides[1])
            for pieces in (clean.pieces, spoilt.pieces)
        )
        if abs(after - before) > 0.45 * SIXTEENTH:
            seams.add(name)
    turned = {
        key
        for key, piece in clean.pieces.items()
        if key in spoilt.pieces and piece is not spoilt.pieces[key]
        for corner in piece.corners
        if abs(piece.interior_angle(corner) - spoilt.pieces[key].interior_angle(corner)) > 0.45 * BLEND
    }
    return seams, turned


LENGTHS = {"seam-length", "seam-span", "notch-match", "ease"}
ANGLES = {"corner-blend", "dart-mouth", "square-end"}
