"""What speaks for and against two sides being one seam, each a small term that can be said in words.

A point is a natural logarithm of odds: how much more often the thing is seen where two sides are sewn together than
where they are not, so that a term of 3 points makes the seam some twenty times as likely. Lengths that agree to a tenth
of a millimetre say much because they seldom agree by chance; how seldom follows from the length itself. No length difference costs
more than a fixed amount: a side that an alteration made short must still find its mate. The shares were estimated on
one half of a corpus of patterns of our own and measured on the other.

Copies, opposite sides of a strip and round numbers are equal without being sewn, and count next to nothing. A piece
that is cut more often than its mate has a seam for each copy, and a facing or lining lies as a layer of its own.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from seamcheck.exact import least
from seamcheck.pairing.lines import Line, Part, Side
from seamcheck.pairing.names import kinship, layered

SLACK = 0.12  # mm: how exactly two drawn curves of one length agree
TRUE = 1.6  # mm; 1/16 in, the usual limit between two sides
EASE = 0.03  # share of a side that is easily eased in
MOST_EASE = 40.0  # mm: caps of sleeves take up to 1 1/2 in
ANY_GRAIN = frozenset(
    ["band", "strip", "strap", "cuff", "collar", "stand", "facing", "flap", "frill", "gusset", "brim"]
)
SPREAD = 0.7  # by chance a length lies within a given band with the probability band / (SPREAD * length)
SQUARE_ENDS = 1.1  # points: two square ends, which are everywhere, are no evidence of their own
NOTCH = 1.6  # mm: notches this near are at one station
STEPS = (5.0, 6.35)  # mm: lengths drawn by rule are multiples of half a centimetre or a quarter inch
STEEP_WAY = 1.6  # points for lines that run up the sheet, which pieces seldom do upside down
FULLNESS = (1.2, 1.25, 1.3, 1.4, 1.5, 1.6, 1.75, 1.8, 2.0, 2.5, 3.0)  # a gathered side to the other
STRETCHED = (0.75, 0.8, 0.85, 0.88, 0.9, 0.95)  # a band or cuff that is stretched on, to the other

BAGS = frozenset(
    [
        "bag",
        "bags",
        "tote",
        "pouch",
        "sack",
        "rucksack",
        "sac",
        "tasche",
        "beutel",
        "bolsa",
        "borsa",
        "tas",
        "cushion",
        "tent",
        "panel",
        "hand",
        "palm",
        "mitten",
        *[
            "roof",
            "dach",
            "toit",
            "techo",
            "tetto",
            "dak",
            "awning",
            "canopy",
            "bache",
            "toldo",
            "cover",
            "wall",
            "wand",
            "cushions",
            "kissen",
            "coussin",
            "cojin",
            "cuscino",
            "kussen",
        ],
        *["zelt", "tente", "tienda", "tenda", "gable", "end"],
    ]
)


@dataclass(frozen=True, slots=True)
class Term:
    """One reason: its points, itself in words ("" for what is too small to be told) and the kind of evidence it is."""

    points: float
    words: str = ""
    kind: str = ""


def kinds_for(terms: Iterable[Term]) -> frozenset[str]:
    """The kinds of evidence that speak for a seam by a point or more each."""
    sums: dict[str, float] = {}
    for term in terms:
        sums[term.kind] = sums.get(term.kind, 0.0) + term.points
    return frozenset(
        kind for kind, points in sums.items() if kind and points >= (SQUARE_ENDS if kind == "corners" else 1.0) - 1e-9
    )


def by_chance(band: float, length: float) -> float:
    """How often the length of another edge lies within a band of `length` without reason; all in mm."""
    share = band / (SPREAD * length)
    for step in STEPS:
        if abs(length / step - round(length / step)) * step < 0.03:
            share = max(share, 0.5 * step / (SPREAD * length))
    return min(share, 1.0)


def by_rule(length: float) -> bool:
    """Whether a length (mm) is a round number, as rulers draw it."""
    return any(abs(length / step - round(length / step)) * step < 0.03 for step in STEPS)


def length_terms(
    first: float, second: float, *, slack: float = SLACK, explained: str = "", worth: float = 0.4
) -> list[Term]:
    """What two lengths (mm) tell.

    `explained` says why they would be equal without being sewn together, `worth` what their being equal then tells.
    """
    difference, longer = abs(first - second), max(first, second)
    share = difference / longer
    if difference <= slack:
        if explained:
            return [Term(worth, f"equal in length, as {explained} would be")]
        near = difference <= slack / 2.0
        points = math.log((0.62 if near else 0.25) / by_chance(slack if near else 2.0 * slack, longer))
        words = "equal in length" if difference < 0.05 else f"lengths {difference:.1f} mm apart"
        return [Term(min(max(points, 0.5), 7.5), words, "length")]
    told = f"lengths {difference:.1f} mm apart"
    if difference <= TRUE:
        points = math.log(0.15 / by_chance(2.0 * TRUE, longer))
        return [Term(min(max(points, 0.2), 3.5) * (0.3 if explained else 1.0), told, "length")]
    if share <= EASE or (share <= 0.08 and difference <= MOST_EASE):
        return [Term(1.0 - 25.0 * share, f"{told}, which ease or an alteration could be", "length")]
    return [Term(max(-1.0 - 12.0 * (share - 0.025), -4.0), f"{difference:.0f} mm apart", "length")]


def fullness_terms(
    first: float, second: float, *, gathered: bool, stretched: bool
) -> tuple[list[Term], float] | None:
    """What it tells that the first side is gathered or stretched on to the second, and their ratio; None: it is not.

    `gathered` and `stretched` where names say that this may be.
    """
    ratio = first / second
    for options, told in ((FULLNESS, gathered), (STRETCHED, stretched)):
        nice = least(options, key=lambda full: abs(ratio / full - 1.0))
        off = abs(ratio / nice - 1.0) * second
        if off <= 0.2:
            # Some dozen usual ratios, each met this nearly: seldom by chance.
            chance = min(len(options) * max(2.0 * off, 0.2) / second / 0.35, 1.0)
            points = math.log((0.5 if told else 0.06) / chance)
            return [Term(min(points, 4.0), f"{nice:g} times as long, a round ratio", "length")], ratio
        if told and options[0] - 0.05 < ratio < options[-1] + 0.05:
            return [Term(-0.7, f"{ratio:.2f} times as long", "length")], ratio
    return None


def notch_terms(first: Side, second: Side, worth: float = 1.0, *, ratio: float | None = None) -> list[Term]:
    """Notches of both sides laid on one another from either end; `worth` is less where copies have the same ones.

    `ratio` is what the first side is to the second where it is gathered: its stations are drawn together by as much.
    """
    if ratio is not None:
        first = replace(
            first,
            length=first.length / ratio,
            notches=tuple((s / ratio, c) for s, c in first.notches),
            joints=tuple(s / ratio for s in first.joints),
        )
    mine, theirs = list(first.notches), list(second.notches)
    if not mine and not theirs:
        return []
    matched = _matched(mine, theirs, first.length, second.length)
    joints = [
        (s, j)
        for notches, side, other in ((mine, first, second), (theirs, second, first))
        for s, _ in notches
        for j in other.joints
        if min(abs(s - j), abs((side.length - s) - (other.length - j))) <= NOTCH
    ]
    alone = max(len(mine) + len(theirs) - 2 * len(matched) - len(joints), 0)
    terms = []
    for station, count, other in matched:
        # A pair at some odd place says more than one in the middle, and one that fits exactly more than one that nearly does.
        middle = abs(station - first.length / 2) < 0.5 and abs(other - second.length / 2) < 0.5
        off = min(abs(station - other), abs((first.length - station) - (second.length - other)))
        kind = {1: "notch", 2: "double notch", 3: "triple notch"}.get(count, "notch")
        points = (1.6 if middle else 3.4 if off < 0.15 else 2.2) + (0.7 if count > 1 else 0.0)
        terms.append(Term(worth * points, f"a {kind} at {station:.0f} mm on both", "notches"))
    terms += [
        Term(2.8, f"a notch at {station:.0f} mm where the other side's pieces meet", "notches")
        for station, _ in joints
    ]
    if alone:
        both = bool(mine) and bool(theirs)
        price = min((1.5 if both else 1.1) * alone, 3.5 if both else 2.2)
        terms.append(Term(-price, f"{alone} notch{'es' if alone > 1 else ''} without a mate", "notches"))
    return terms


def _matched(
    mine: Sequence[tuple[float, int]], theirs: Sequence[tuple[float, int]], first: float, second: float
) -> list[tuple[float, int, float]]:
    """Pairs of notches in order, at one distance from the start or from the end and of one count."""
    best: list[list[list[tuple[float, int, float]]]] = [[[]] * (len(theirs) + 1) for _ in range(len(mine) + 1)]
    for i, (s, count) in enumerate(mine, 1):
        for j, (t, other) in enumerate(theirs, 1):
            options = [best[i - 1][j], best[i][j - 1]]
            off = min(abs(s - t), abs((first - s) - (second - t)))
            if off <= NOTCH and count == other:
                options.append([*best[i - 1][j - 1], (s, count, t)])
            best[i][j] = max(options, key=len)
    return best[-1][-1]


def angle_terms(first: Side, second: Side, *, exact: float = 0.4, solid: bool = False) -> list[Term]:
    """The corners that meet at both ends: across a seam that ends at a border they add to 180 degrees.

    On a `solid` thing, a bag or a tent, pieces meet at any angle.
    """
    terms = []
    for a, b in zip(first.angles, second.angles, strict=True):
        if a == 180.0 or b == 180.0:
            continue  # a seam may end anywhere along a line
        off = abs(a + b - 180.0)
        square = abs(a - 90.0) < 1.0 and abs(b - 90.0) < 1.0
        if square:
            terms.append(Term(0.5, "", "corners"))
        elif off <= exact:
            terms.append(Term(2.6, f"corners of {a:.0f}° and {b:.0f}° make a straight line", "corners"))
        elif off <= 2.5:
            terms.append(Term(1.0, f"corners of {a:.0f}° and {b:.0f}° make nearly a straight line", "corners"))
        elif off > 8.0 and not solid:
            terms.append(Term(-0.6 if off < 40.0 else -1.0, "", "corners"))
    return terms


def shape_terms(first: Side, second: Side, *, copy: bool = False) -> list[Term]:
    """Curvature along both: alike, fitting into one another, or neither."""
    if first.profile is None or second.profile is None:
        return []
    a, b = first.profile / first.length, second.profile / second.length
    depth = float(max(np.abs(a).max(), np.abs(b).max()))
    if (first.straight and second.straight) or depth < 0.012:
        return [Term(0.3, "", "shape")]
    alike, fitting = float(np.abs(a - b).max()), float(np.abs(a + b).max())
    off = min(alike, fitting) / depth
    what = "the same curve" if alike <= fitting else "a curve that fits into the other's"
    # Lines that hardly bend are often alike by chance.
    worth = (0.4 if copy else 1.0) * min(max(abs(first.bend), abs(second.bend)) / 25.0, 1.0)
    if off < 0.03:
        return [Term(2.5 * worth, what, "shape")]
    if off < 0.15:
        return [Term(1.2 * worth, what, "shape")]
    if off < 0.45:
        return [Term(0.4 * worth, "", "shape")]
    if first.straight != second.straight:
        return [Term(-min(8.0 * depth, 1.0), "", "shape")]
    return [Term(-0.8 if depth > 0.03 else -0.3, "", "shape")]


def grain_terms(first: Line, second: Line, first_kind: str, second_kind: str) -> list[Term]:
    """Seams along the grain of one piece mostly run along the grain of the other."""
    if first.slant is None or second.slant is None or {first_kind, second_kind} & ANY_GRAIN:
        return []
    apart = abs(first.slant - second.slant)
    if apart < 8.0:
        return [Term(0.5, "", "grain")]
    return [Term(-0.8, "they lie differently to the grain", "grain")] if apart > 45.0 else []


def rise_terms(first: Line, second: Line, backwards: bool) -> list[Term]:
    """Pieces mostly lie one way up on the sheet, so that upper ends meet upper ends."""
    if first.rise is None or second.rise is None:
        return []
    steep = min(abs(first.rise), abs(second.rise))
    if steep < 0.25:
        return []
    same = (first.rise * second.rise > 0) != backwards
    points = STEEP_WAY if steep > 0.8 else 1.0
    words = "upper ends meet" if same else "an upper end would meet a lower one"
    return [Term(points if same else -points, words, "way up")]


def name_terms(first: Part, second: Part, *, copy: bool = False) -> list[Term]:
    """What the names and words of two pieces tell; less where the pieces are copies, each for a mate of its own."""
    points, why = kinship(first.words, second.words)
    points *= (
        0.5
        if copy and points > 0.0 and first.words.kind == second.words.kind and not layered(first.words, second.words)
        else 1.0
    )
    return [Term(points, why, "names")] if points or why else []


def level_terms(first: Part, second: Part, a: Line, b: Line) -> list[Term]:
    """Waistbands, yokes and collars are sewn to the upper end of a body, cuffs to the lower end of a sleeve, frills to a hem."""
    for part, other, line in ((first, second, a), (second, first, b)):
        kind, piece = other.words.kind, part.words.kind
        if other.words.ribbed:
            continue  # it trims a neck as well as a hem
        if line.level is None or (line.slant or 0.0) < 60.0:
            continue
        if piece in ("body", "gore") and kind in ("band", "yoke", "collar", "stand", "hood"):
            if line.level < 0.35:
                return [Term(-3.0, f"a {kind} belongs to the upper end")]
            if line.level > 0.9:
                return [Term(1.0, f"a {kind} belongs to the upper end", "names")]
        if (piece, kind) in (("sleeve", "cuff"), ("sleeve", "band"), ("body", "frill")):
            if line.level > 0.65:
                return [Term(-2.0, f"a {kind} belongs to the lower end")]
            if line.level < 0.1:
                return [Term(1.0, f"a {kind} belongs to the lower end", "names")]
    return []


def hollow_terms(first: Part, second: Part, a: Line, b: Line) -> list[Term]:
    """Two hollow edges are armholes, necks or crotches; only a facing is sewn to its like."""
    if min(-a.bend, -b.bend) < 35.0 or {first.words.kind, second.words.kind} & {
        "facing",
        "lining",
        "collar",
        "sleeve",
    }:
        return []
    silent = first.words.silent and second.words.silent
    return [Term(-3.0 if silent else -4.0, "both are hollow, as armholes and necks are", "shape")]


def across_terms(first: Part, second: Part, a: Line, b: Line) -> list[Term]:
    """Edges across the grain at the same end of two body pieces are two hems or two waists, which meet others."""
    if a.slant is None or b.slant is None or a.level is None or b.level is None:
        return []
    kinds = {first.words.kind, second.words.kind}
    if min(a.slant, b.slant) < 76.0 or kinds - {"body", "gore", ""} or (first.words.own | second.words.own) & BAGS:
        return []
    told = "body" in kinds or "gore" in kinds
    if max(a.level, b.level) < 0.15:
        return [Term(-6.0 if told else -3.0, "both are lower edges, as hems are", "grain")]
    if min(a.level, b.level) > 0.97:
        return [Term(-5.0 if told else -2.0, "both are upper edges, as waists are", "grain")]
    if max(a.slant, b.slant) > 83.0 and told and (a.level - 0.5) * (b.level - 0.5) > 0.0:
        return [Term(-2.0, "edges across the grain are mostly waists or hems", "grain")]
    return []
