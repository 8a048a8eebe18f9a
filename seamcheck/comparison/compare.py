"""Two patterns compared piece by piece."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from seamcheck.comparison.alignment import View, views
from seamcheck.comparison.changes import Comparison, EdgeStretch, PieceChange
from seamcheck.comparison.marks import dart_changes, edge_changes, grain_change
from seamcheck.comparison.moved_parts import Division
from seamcheck.comparison.piece_matching import pair_pieces
from seamcheck.comparison.redrawn import changes_of_line
from seamcheck.comparison.rigid_motion import Rigid, Search
from seamcheck.geometry.curve import Affine
from seamcheck.pattern.model import Pattern, Piece


def compare(before: Pattern, after: Pattern) -> Comparison:
    """What changed from one pattern to the other, in every size that both have.

    Pieces belong together by name, or by shape and size where no name tells; corners and edges by name, so both
    patterns are best read with one plan.
    """
    pairs = pair_pieces(before, after)
    opened = [_opened(old, new) for old, new in pairs.pieces]
    noise = _noise([search for _, _, search in opened])
    return Comparison(
        before=before,
        after=after,
        pieces=tuple(_change(old, new, search, search.found(noise)) for old, new, search in opened),
        added=pairs.added,
        removed=pairs.removed,
        sizes_before=pairs.sizes_before,
        sizes_after=pairs.sizes_after,
        renamed=pairs.renamed,
    )


def _opened(before: Piece, after: Piece) -> tuple[View, View, Search]:
    """Two pieces laid into one frame, and the search for what moved between them."""
    old, new = views(before, after)
    shared = [name for name in old.corners if name in new.corners]
    return old, new, Search(old.curve, new.curve, [(old.corners[name], new.corners[name]) for name in shared])


def _noise(searches: Sequence[Search]) -> float:
    """What two drawings of the same line differ by: what most pieces show, since an alteration changes few."""
    found = sorted(search.surest.noise for search in searches if search.surest is not None)
    return found[(len(found) - 1) // 2] if found else 0.0


def _change(old: View, new: View, search: Search, rigid: Sequence[Rigid]) -> PieceChange:
    before, after = old.piece, new.piece
    lost = tuple(name for name in old.corners if name not in new.corners and before.corner(name).named)
    if not rigid:
        return PieceChange(
            before=before,
            after=after,
            placement=Affine.identity(),
            mirrored=old.turned_over,
            tolerance=search.tolerance,
            noise=search.noise,
            edges=edge_changes(old, new, None),
            lost_corners=lost,
        )
    in_place = before.y_down == after.y_down and not old.turned_over
    division = Division(search, rigid, in_place=in_place)
    redrawn, ends = changes_of_line(old, new, division, search.tolerance)
    breaks = division.breaks(old, new)
    from_frame = old.to_frame.inverse()
    back = new.to_frame.inverse()
    parts = tuple(
        replace(
            part,
            motion=back @ part.motion @ old.to_frame,
            middle=complex(from_frame.apply(part.middle)),
        )
        for part in division.parts(old)
    )
    reference = division.motions[0]
    return PieceChange(
        before=before,
        after=after,
        placement=parts[0].motion,
        mirrored=old.turned_over,
        tolerance=search.tolerance,
        noise=search.noise,
        parts=parts,
        stretches=tuple(
            _in_files(stretch, old)
            for stretch in division.stretches
            if stretch[2] > stretch[1] or stretch[4] > stretch[3]
        ),
        breaks=breaks,
        cuts=division.cuts(breaks, from_frame),
        redrawn=tuple(redrawn),
        ends=tuple(ends),
        edges=edge_changes(old, new, division),
        grain=grain_change(old, new, reference),
        darts=dart_changes(old, new, reference),
        lost_corners=lost,
    )


def _in_files(stretch: tuple[int | None, float, float, float, float], old: View) -> EdgeStretch:
    """A stretch with the stations that it has in either file."""
    part, start, stop, new_start, new_stop = stretch
    if old.turned_over:
        return EdgeStretch(before=(-stop % old.total, -start % old.total), after=(new_stop, new_start), part=part)
    return EdgeStretch(before=(start, stop), after=(new_start, new_stop), part=part)
