"""Which piece of one file is which of the other: by name and size, else by shape."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from seamcheck.pattern.model import Pattern, Piece

ALIKE = 0.12  # how far size and form of a renamed piece may differ: the sum of shares


@dataclass(frozen=True, slots=True)
class PiecePairs:
    """The pieces that belong together, and what has no counterpart."""

    pieces: tuple[tuple[Piece, Piece], ...]
    added: tuple[str, ...]
    removed: tuple[str, ...]
    sizes_before: tuple[str, ...]
    sizes_after: tuple[str, ...]
    renamed: Mapping[str, str]


def pair_pieces(before: Pattern, after: Pattern) -> PiecePairs:
    """Pair the pieces size by size; files with one size each are compared whatever it is called."""
    sizes = dict(common_sizes(before, after))
    pieces: list[tuple[Piece, Piece]] = []
    added: list[str] = []
    removed: list[str] = []
    renamed: dict[str, str] = {}
    for size, old_size in sizes.items():
        found = match(before.in_size(old_size), after.in_size(size))
        pieces += found
        old_taken, new_taken = ({id(pair[k]) for pair in found} for k in (0, 1))
        removed += [piece.name for piece in before.in_size(old_size) if id(piece) not in old_taken]
        added += [piece.name for piece in after.in_size(size) if id(piece) not in new_taken]
        renamed |= {new.name: old.name for old, new in found if old.name.casefold() != new.name.casefold()}
    return PiecePairs(
        tuple(pieces),
        tuple(dict.fromkeys(added)),
        tuple(dict.fromkeys(removed)),
        tuple(size for size in before.sizes if size not in sizes.values()),
        tuple(size for size in after.sizes if size not in sizes),
        renamed,
    )


def common_sizes(before: Pattern, after: Pattern) -> Sequence[tuple[str, str]]:
    """The sizes that both files have, later and earlier; files with one size each have that in common."""
    both = [(size, size) for size in after.sizes if size in before.sizes]
    if not both and len(before.sizes) == len(after.sizes) == 1:
        return [(after.sizes[0], before.sizes[0])]
    return both


def match(before: Sequence[Piece], after: Sequence[Piece]) -> list[tuple[Piece, Piece]]:
    """Pairs in the order of the file after: the same name first, the most similar of the others then."""
    pairs: list[tuple[Piece, Piece]] = []
    old, new = list(before), list(after)
    for piece in after:
        for key in (_name, _name_in_file):
            twin = next((one for one in old if key(one) == key(piece)), None)
            if twin is not None:
                pairs.append((twin, piece))
                old.remove(twin)
                new.remove(piece)
                break
    apart = np.array([[unlike(one, two) for two in new] for one in old]).reshape(len(old), len(new))
    pairs += [(old[i], new[j]) for i, j in closest(np.where(apart <= ALIKE, apart, np.inf))]
    order = {id(piece): number for number, piece in enumerate(after)}
    return sorted(pairs, key=lambda pair: order[id(pair[1])])


def closest(apart: np.ndarray) -> list[tuple[int, int]]:
    """Rows with columns, each taken once, the closest first; what is inf apart is not taken."""
    found: dict[int, int] = {}
    for k in np.argsort(np.round(apart, 6), axis=None, kind="stable").tolist():
        i, j = divmod(k, apart.shape[1])
        if np.isfinite(apart[i, j]) and i not in found and j not in found.values():
            found[i] = j
    return list(found.items())


def _name(piece: Piece) -> str:
    return piece.name.casefold()


def _name_in_file(piece: Piece) -> str:
    return piece.in_file.casefold()


def unlike(one: Piece, two: Piece) -> float:
    """How much two pieces differ in area, outline and spread: 0 for the same piece however it lies."""
    first, second = _measures(one), _measures(two)
    return float(np.abs(np.log(first / second)).sum())


def _measures(piece: Piece) -> np.ndarray:
    """Root of the area, length of the outline, and the two radii of gyration of the outline, in mm.

    None of them depends on where the piece lies, how it is turned or whether it is turned over.
    """
    outline = piece.outline
    points = outline.points(np.linspace(0.0, outline.length, 257)[:-1])
    spread = points - points.mean()
    own = float((np.abs(spread) ** 2).mean())
    skew = abs(complex((spread**2).mean()))
    radii = np.sqrt(np.maximum([(own + skew) / 2, (own - skew) / 2], 1e-6))
    return np.array([np.sqrt(abs(outline.signed_area()) + 1e-6), outline.length + 1e-6, *radii])
