"""Why a seam is proposed, and what speaks against it, in a sewist's words: what was measured, never what was weighed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from seamcheck.amounts import millimetres
from seamcheck.pairing.alike import Classes
from seamcheck.pairing.candidates import Candidate, Kind
from seamcheck.pairing.lines import Side
from seamcheck.pairing.proposal import Reason

if TYPE_CHECKING:
    from seamcheck.pairing.hints import PairingHint

AS_LONG = 0.2  # mm: lengths that differ by no more are told as equal
EASE = 0.08  # share by which a side may be longer and be told as eased
NOTCH_FIT = 3.0  # mm by which notches that meet may differ
FLAT = 6.0  # degrees by which corners may miss what they should add up to
HAND_IN_HAND = (("front", "back"), ("left", "right"), ("upper", "under"), ("inner", "outer"), ("centre", "side"))


def reasons(classes: Classes, one: Candidate, hint: PairingHint | None = None) -> tuple[Reason, ...]:
    """What speaks for a candidate and against it, the plainest first; `hint` is what a plugin knows of it."""
    first, second = classes.side(one.first), classes.side(one.second)
    found = [*_lengths(one, first, second), *_notches(one, first, second), *_corners(one, first, second)]
    found += [*_shape(one, first, second), *_pieces(classes, one)]
    return tuple(found if hint is None else [_for("hint", hint.why), *found])


def _for(term: str, words: str) -> Reason:
    return Reason(term=term, weight=1.0, words=words)


def _against(term: str, words: str) -> Reason:
    return Reason(term=term, weight=-1.0, words=words)


def _lengths(one: Candidate, first: Side, second: Side) -> list[Reason]:
    if one.kind is Kind.TWIN:
        return [_for("length", "it and its mirror twin are as long as each other")]
    off = abs(first.length - second.length)
    together = "together as long as it" if one.kind is Kind.ROW else "as long as each other"
    if off <= AS_LONG:
        return [_for("length", f"{together} to {AS_LONG:g} mm")]
    longer = max(first.length, second.length)
    if off <= EASE * longer:
        return [_against("length", f"they differ by {millimetres(off)}, which must be eased in")]
    ratio = longer / min(first.length, second.length)
    return [_against("length", f"one is {ratio:.2f} times as long as the other and would be gathered or stretched")]


def _notches(one: Candidate, first: Side, second: Side) -> list[Reason]:
    if one.kind is Kind.TWIN or not (first.notches or second.notches):
        return []
    off = abs(first.length - second.length)
    left = list(second.notches)
    met = 0
    for station, count in first.notches:
        mate = next(
            (k for k, (s, c) in enumerate(left) if c == count and _meets(station, s, first, second, off)), None
        )
        if mate is not None:
            left.pop(mate)
            met += 1
    joints = sum(any(abs(joint - station) < 4.0 for station, _ in second.notches) for joint in first.joints)
    alone = len(first.notches) + len(second.notches) - 2 * met - joints
    found = []
    if met:
        told = (
            "both notches meet"
            if met == 2 and not alone
            else "the notch meets"
            if met == 1
            else f"{met} notches meet"
        )
        found.append(_for("notches", told))
    if joints:
        found.append(_for("notches", "a notch marks where the pieces join"))
    if alone > 0:
        found.append(_against("notches", "1 notch has no mate" if alone == 1 else f"{alone} notches have no mate"))
    return found


def _meets(station: float, other: float, first: Side, second: Side, off: float) -> bool:
    ends = abs(station - other), abs((first.length - station) - (second.length - other))
    return min(ends) < NOTCH_FIT + (0.02 * first.length if off > NOTCH_FIT else 0.0)


def _corners(one: Candidate, first: Side, second: Side) -> list[Reason]:
    sums = [a + b for a, b in zip(first.angles, second.angles, strict=True)]
    flat = sum(abs(total - 180.0) < FLAT for total in sums)
    if one.kind is Kind.TWIN:
        flat = sum(abs(2.0 * angle - 180.0) < FLAT for angle in first.angles)
    if flat == 2:
        return [_for("corners", "the line across runs on at both ends")]
    return [_for("corners", "the line across runs on at one end")] if flat else []


def _shape(one: Candidate, first: Side, second: Side) -> list[Reason]:
    if (
        one.kind is not Kind.PAIR
        or first.profile is None
        or second.profile is None
        or (first.straight and second.straight)
    ):
        return []
    apart = min(float(abs(first.profile + sign * second.profile).max()) for sign in (-1.0, 1.0))
    return [_for("shape", "they are the same curve")] if apart < 1.0 else []


def _pieces(classes: Classes, one: Candidate) -> list[Reason]:
    a, b = (classes.part(side[0].line) for side in one.seam)
    if a.index == b.index:
        return [_for("pieces", "the piece closes to a ring")] if one.kind is Kind.PAIR else []
    ways = a.words.qualities, b.words.qualities
    for mine, theirs in HAND_IN_HAND:
        if (mine in ways[0] and theirs in ways[1]) or (theirs in ways[0] and mine in ways[1]):
            return [_for("names", f"{mine} and {theirs}")]
    if a.words.kind and b.words.kind and a.words.kind != b.words.kind:
        return [_for("names", f"a {a.words.kind} and a {b.words.kind}")]
    return []
