"""One choice over all candidates: the likeliest set in which every line is sewn as often as it can be.

hard rules   what no measurement can outweigh (`possible`)
choice       the likeliest first; a line is taken once, or in a second layer where it is likely to have one
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np

from seamcheck.pairing.alike import Classes
from seamcheck.pairing.candidates import Candidate, Kind
from seamcheck.pairing.features import Floats

LIKELY = 0.33  # a candidate is taken from here on
LAYERED = 0.4  # a line is taken twice where it is so likely to be sewn more than once
MOST_LAYERS = 3
WANTS_THE_REST = 0.3  # so likely a candidate keeps two lines from being sewn whole
MOST_WHOLE = 0.99
MOST_IN_PARTS = 0.9999


@dataclass(frozen=True, slots=True)
class Choice:
    """The candidates that are taken, by number, and for each what would be taken in its stead (None where nothing is)."""

    taken: tuple[int, ...]
    rivals: tuple[int | None, ...]


def possible(classes: Classes, one: Candidate) -> bool:
    """Whether a seam can be sewn at all: what is drawn once and cut once has no twin."""
    if one.kind is not Kind.TWIN:
        return True
    line = one.first[0].line
    if len(classes.members[classes.root(line)]) > 1:
        return True
    part = classes.part(line)
    folded = part.words.on_fold or any(classes.lines[k].fold for k in part.lines)
    return folded or part.words.paired or part.words.copies != 1


def in_parts(likely: Floats, parted: Sequence[tuple[int, Sequence[int]]]) -> Floats:
    """How likely candidates are where rows sewn to rows say no more than their lines one by one: each line has what its rows have."""
    result = likely.copy()
    for row, parts in parted:
        result[list(parts)] = np.minimum(result[list(parts)] + likely[row], MOST_IN_PARTS)
        result[row] = 0.0
    return result


def in_whole(candidates: Sequence[Candidate], likely: Floats, agree: Sequence[bool]) -> Floats:
    """How likely candidates are where a line that is sewn in part to another is sewn to it whole.

    Two lines that are as long as each other but for what an alteration takes off or adds (`agree`, by candidate), and of which a stretch is likely sewn to a stretch, are sewn from end to
    end, unless something else wants the rest: then the whole is as likely as both together, and the stretch is not.
    """
    result = likely.copy()
    wanting: dict[tuple[int, int], list[int]] = {}
    for number, one in enumerate(candidates):
        if likely[number] >= WANTS_THE_REST:
            for atom in one.atoms:
                wanting.setdefault(atom, []).append(number)
    parts: dict[frozenset[tuple[int, bool]], list[int]] = {}
    for number, one in enumerate(candidates):
        if one.kind is Kind.STRETCH and likely[number] >= WANTS_THE_REST:
            parts.setdefault(_between(one), []).append(number)
    for number, one in enumerate(candidates):
        own = parts.get(_between(one), ()) if one.kind is Kind.PAIR and agree[number] else ()
        own = [k for k in own if candidates[k].atoms < one.atoms]
        if not own or any(k != number and k not in own for atom in one.atoms for k in wanting.get(atom, ())):
            continue
        most = max(float(likely[k]) for k in own)
        result[number] = max(float(likely[number]), min(float(likely[number]) + most, MOST_WHOLE))
        result[own] = 0.0
    return result


def _between(one: Candidate) -> frozenset[tuple[int, bool]]:
    """Which two lines a candidate of single lines joins, and which way."""
    a, b = one.first[0], one.second[0]
    return frozenset(
        [(a.line, False), (b.line, a.backwards != b.backwards)]
        if a.line < b.line
        else [(b.line, False), (a.line, a.backwards != b.backwards)]
    )


def choose(
    classes: Classes,
    candidates: Sequence[Candidate],
    likely: Floats,
    layers: Floats,
    *,
    fixed: Collection[int] = (),
    free: Collection[int] = (),
    least: float = LIKELY,
) -> Choice:
    """The set that is taken. `layers` (R, 3) is how likely each line is sewn not at all, once and more often.

    `fixed` candidates are taken whatever they are worth; lines (by class) in `free` are sewn to nothing.
    """
    place = {root: k for k, root in enumerate(sorted(classes.members))}
    used: dict[tuple[int, int], int] = {}
    taken: list[int] = []
    order = sorted(range(len(candidates)), key=lambda k: (k not in fixed, -float(likely[k]), k))

    def room(number: int) -> bool:
        one = candidates[number]
        if any(root in free for root, _ in one.atoms):
            return False
        for atom in one.atoms:
            uses = used.get(atom, 0)
            if uses and (uses >= MOST_LAYERS or layers[place[atom[0]]][2] < LAYERED):
                return False
        return not any(_same(candidates[k], one) for k in taken if candidates[k].atoms & one.atoms)

    for number in order:
        if number not in fixed and likely[number] < least:
            break
        if number in fixed or (possible(classes, candidates[number]) and room(number)):
            taken.append(number)
            for atom in candidates[number].atoms:
                used[atom] = used.get(atom, 0) + 1
    kept = set(taken)
    rivals = [
        next((k for k in order if k not in kept and candidates[k].atoms & candidates[number].atoms), None)
        for number in taken
    ]
    return Choice(tuple(taken), tuple(rivals))


def _same(a: Candidate, b: Candidate) -> bool:
    """Whether two candidates bring the same lines together, whichever way round, or one more of them."""
    if (a.kind is Kind.TWIN) != (b.kind is Kind.TWIN):
        return False
    return a.atoms <= b.atoms or b.atoms <= a.atoms
