"""Pieces in several sizes: which block is which piece in which size, and what the graded sizes take from the base.

A graded nest leaves turn points, curve points and notches out of all sizes but the base (ASTM D6673, 4.3.1.5); the
vertices run in the same order in every size, so that each mark is found again by the number of its vertex.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from seamcheck.errors import InputError
from seamcheck.pattern.drawing import Note
from seamcheck.reading.base import Source
from seamcheck.reading.dxf.apparel_blocks import MARKED_LINES, MIRROR, NOTCHES, BlockDraft
from seamcheck.reading.dxf.apparel_lines import DraftLine

_SEPARATORS = "_- .~"
_SAME = 1e-3  # mm; two outlines that differ by less are one outline
_SEPARATORS = "_- ."  # between a piece's name and its size, in the name of a block
NAME_CUT = 20  # characters; some receivers cut piece names here


def name_sizes(drafts: Sequence[BlockDraft], sample: str) -> list[Note]:
    """Give every draft its piece and size: by its texts, else by the name of its block."""
    notes = []
    for draft in drafts:
        draft.size = draft.labels.get("size", "")
        if "name" in draft.labels:
            draft.piece = draft.labels["name"]
    named = {_split(draft.block.name)[0].casefold(): draft for draft in drafts if draft.piece}
    unnamed = [draft for draft in drafts if not draft.piece]
    for draft in list(unnamed):
        name = draft.block.name
        head, tail = _split(name)
        # The name that stands in the base size alone is that of the other sizes, too.
        base = named.get(head.casefold()) if head else None
        size = draft.size or tail
        if base is not None and size != base.size and _vertex_count(base) == _vertex_count(draft) > 0:
            draft.piece, draft.size = base.piece, size
            unnamed.remove(draft)
            continue
        # A size is split off only where another block shows that what goes before it is the piece.
        shared = head and any(other is not draft and _split(other.block.name)[0] == head for other in unnamed)
        draft.piece = head if shared else name
        if shared and not draft.size:
            draft.size = tail
    if unnamed:
        listed = ", ".join(f'"{draft.piece}"' for draft in unnamed[:5])
        notes.append(
            Note("piece-name-missing", f"Pieces without a name in their texts are called by their block: {listed}.")
        )
    by_piece: dict[str, list[BlockDraft]] = {}
    for draft in drafts:
        by_piece.setdefault(draft.piece, []).append(draft)
    for piece, group in by_piece.items():
        unsized = [draft for draft in group if not draft.size]
        if len(group) > len(unsized) == 1 or len(group) == 1:
            for draft in unsized:
                draft.size = sample
            continue
        guessed = []
        for draft in unsized:
            rest = draft.block.name[len(piece) :] if draft.block.name.startswith(piece) else ""
            size = rest.strip(_SEPARATORS) or (_split(draft.block.name)[1] if not rest else "")
            if size and not _mirrored_twin(draft, group):
                draft.size = size
                guessed.append(size)
            else:
                draft.size = sample
        if guessed:
            message = f'"{piece}": the sizes {", ".join(guessed)} are taken from the names of the blocks.'
            notes.append(Note("size-from-block-name", message))
    notes += _alike(by_piece)
    return notes


def _vertex_count(draft: BlockDraft) -> int:
    return len(draft.boundary.points) if draft.boundary is not None else 0


def _split(name: str) -> tuple[str, str]:
    """A block's name before and behind its last separators; empty where it has none."""
    at = max(map(name.rfind, _SEPARATORS)) + 1
    head, tail = name[:at].rstrip(_SEPARATORS) or name[: max(at - 1, 0)][:1], name[at:]
    return (head, tail) if head and tail else ("", "")


def _alike(pieces: dict[str, list[BlockDraft]]) -> list[Note]:
    cut: dict[str, list[str]] = {}
    for name in pieces:
        if len(name) >= NAME_CUT:
            cut.setdefault(name[:NAME_CUT].casefold(), []).append(name)
    return [
        Note(
            "piece-names-alike",
            f"Piece names {', '.join(names)} are the same in their first {NAME_CUT} characters; some programs cut them.",
        )
        for names in cut.values()
        if len(names) > 1
    ]


def single_out(source: Source, drafts: list[BlockDraft]) -> list[Note]:
    """Deal with a piece that stands in one size more than once; removes exact repeats from `drafts`.

    Mirror images are a left and a right piece and are both kept. InputError when two different outlines claim to
    be the same piece in the same size.
    """
    notes = []
    seen: dict[tuple[str, str], list[BlockDraft]] = {}
    for draft in list(drafts):
        twins = seen.setdefault((draft.piece.casefold(), draft.size.casefold()), [])
        in_size = f" in size {draft.size}" if draft.size else ""
        if any(_equal(draft, twin) for twin in twins):
            drafts.remove(draft)
            message = f'"{draft.piece}"{in_size} stands in the file twice with the same outline; it is read once.'
            notes.append(Note("piece-repeated", message))
            continue
        if twins and not _mirrored_twin(draft, twins):
            first = twins[0].block
            raise InputError(
                f'piece "{draft.piece}"{in_size} stands there twice with different outlines, as block "{first.name}" at '
                f'{first.place} and as block "{draft.block.name}"',
                path=source.path,
                place=draft.block.place,
                remedy="give the two different piece names or size names, or delete one",
            )
        if twins:
            message = f'"{draft.piece}"{in_size} stands in the file as a left and a right piece, mirror images.'
            notes.append(Note("mirror-pair", message))
        twins.append(draft)
    return notes


def _equal(one: BlockDraft, other: BlockDraft) -> bool:
    a, b = one.boundary, other.boundary
    if a is None or b is None or len(a.points) != len(b.points):
        return False
    first, second = np.asarray(a.points), np.asarray(b.points)
    return bool(np.abs((first - first[0]) - (second - second[0])).max() <= _SAME)


def _mirrored_twin(draft: BlockDraft, group: Sequence[BlockDraft]) -> bool:
    """Whether one of a group has the same edges but runs round the other way."""
    a = draft.boundary
    if a is None:
        return False
    edges = np.sort(a.edges())
    for other in group:
        b = other.boundary
        if other is draft or b is None or len(b.points) != len(a.points) or a.area() * b.area() >= 0:
            continue
        if np.abs(edges - np.sort(b.edges())).max() <= _SAME:
            return True
    return False


def inherit_marks(drafts: Sequence[BlockDraft], sample: str) -> list[Note]:
    """Carry corners, curve points, notches and the fold from the base size of each piece to its other sizes."""
    notes = []
    by_piece: dict[str, list[BlockDraft]] = {}
    for draft in drafts:
        by_piece.setdefault(draft.piece.casefold(), []).append(draft)
    for group in by_piece.values():
        if len(group) < 2:
            continue
        base = _base(group, sample)
        if base is None:
            continue
        different = [draft for draft in group if draft is not base and not _same_topology(base, draft)]
        for draft in group:
            if draft is not base and draft not in different:
                if not draft.has_marks:
                    _take_from(draft, base)
                for mine, theirs in zip(_marked_lines(draft), _marked_lines(base), strict=True):
                    mine.like = theirs
        if different:
            sizes = ", ".join(draft.size for draft in different)
            message = (
                f'"{base.piece}" has other points in size {sizes} than in {base.size or "its base size"}; corners and '
                "notches cannot be carried over, so that those sizes are read by themselves."
            )
            notes.append(Note("nest-topology-differs", message))
    return notes


def _base(group: Sequence[BlockDraft], sample: str) -> BlockDraft | None:
    marked = [draft for draft in group if draft.has_marks]
    named = [draft for draft in marked if draft.size.casefold() == sample.casefold()]
    return next(iter(named or marked), None)


def _marked_lines(draft: BlockDraft) -> list[DraftLine]:
    return [line for line in draft.lines if line.layer in MARKED_LINES]


def inherit_labels(drafts: Sequence[BlockDraft], sample: str) -> None:
    """What the texts of the base size alone state, its quantity and its material, holds for all sizes of a piece."""
    by_piece: dict[str, list[BlockDraft]] = {}
    for draft in drafts:
        by_piece.setdefault(draft.piece.casefold(), []).append(draft)
    for group in by_piece.values():
        base = max(group, key=lambda draft: (draft.size.casefold() == sample.casefold(), len(draft.labels)))
        for draft in group:
            draft.labels = {key: told for key, told in base.labels.items() if key != "size"} | draft.labels


def _same_topology(base: BlockDraft, draft: BlockDraft) -> bool:
    def counts(piece: BlockDraft) -> list[tuple[int | None, bool, int]]:
        return [(line.layer, line.closed, len(line.points)) for line in piece.lines if line.layer in MARKED_LINES]

    return counts(base) == counts(draft)


def _take_from(draft: BlockDraft, base: BlockDraft) -> None:
    mine = [index for index, line in enumerate(draft.lines) if line.layer in MARKED_LINES]
    theirs = [index for index, line in enumerate(base.lines) if line.layer in MARKED_LINES]
    match = dict(zip(theirs, mine, strict=True))
    for their, my in match.items():
        draft.lines[my].kinds = base.lines[their].resolved_kinds()
        draft.lines[my].not_mirrored = base.lines[their].not_mirrored
    if not any(point.layer in NOTCHES for point in draft.points):
        for point in base.points:
            if point.layer in NOTCHES and point.vertex is not None:
                line, vertex = match[point.vertex[0]], point.vertex[1]
                at = draft.lines[line].points[vertex]
                draft.points.append(replace(point, at=at, vertex=(line, vertex)))
    if not any(line.layer == MIRROR for line in draft.lines):
        for fold in (line for line in base.lines if line.layer == MIRROR):
            ends = [_vertex_near(base, point) for point in fold.points]
            if all(end is not None and end[0] in match for end in ends):
                moved = [draft.lines[match[end[0]]].points[end[1]] for end in ends if end is not None]
                draft.lines.append(replace(fold, points=moved))


def _vertex_near(draft: BlockDraft, at: complex) -> tuple[int, int] | None:
    return next(
        (
            (index, number)
            for index, line in enumerate(draft.lines)
            if line.layer in MARKED_LINES
            for number, point in enumerate(line.points)
            if abs(point - at) <= 0.01
        ),
        None,
    )
