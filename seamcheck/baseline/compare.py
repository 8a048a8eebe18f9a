"""Two patterns compared piece by piece."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from seamcheck.baseline.changes import Comparison, PieceChange, Stretch
from seamcheck.baseline.frame import View, views
from seamcheck.baseline.marks import dart_changes, edge_changes, grain_change
from seamcheck.baseline.pairs import pair_pieces
from seamcheck.baseline.parts import Division
from seamcheck.baseline.redrawn import changes_of_line
from seamcheck.baseline.rigid import Rigid, Search
from seamcheck.curve import Affine
from seamcheck.model import Pattern, Piece


def compare(before: Pattern, after: Pattern) -> Comparison:
    """What changed from one pattern to the other, in every size that both have.

    Pieces belong together by name, or by shape and size where no name tells; corners and edges by name, so both
    patterns are best read with one plan.
    """
    pairs = pair_pieces(before, after)
    opened = [_Pair(old, new) for old, new in pairs.pieces]
    return Comparison(
        before=before,
        after=after,
        pieces=tuple(pair.change(_noise(opened)) for pair in opened),
        added=pairs.added,
        removed=pairs.removed,
        sizes_before=pairs.sizes_before,
        sizes_after=pairs.sizes_after,
        renamed=pairs.renamed,
    )


def compare_pieces(before: Piece, after: Piece) -> PieceChange:
    """What changed from one piece to the other."""
    pair = _Pair(before, after)
    return pair.change(_noise([pair]))


class _Pair:
    """Two pieces laid into one frame, ready to be compared."""

    def __init__(self, before: Piece, after: Piece) -> None:
        self.old, self.new = views(before, after)
        shared = [name for name in self.old.corners if name in self.new.corners]
        pairs = [(self.old.corners[name], self.new.corners[name]) for name in shared]
        self.search = Search(self.old.curve, self.new.curve, pairs)

    def change(self, noise: float) -> PieceChange:
        """What changed, where lines that are the same differ by `noise` mm."""
        return _change(self.old, self.new, self.search, self.search.found(noise))


def _noise(pairs: Sequence[_Pair]) -> float:
    """What two drawings of the same line differ by: what most pieces show, since an alteration changes few."""
    found = sorted(pair.search.surest.noise for pair in pairs if pair.search.surest is not None)
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


def _in_files(stretch: tuple[int | None, float, float, float, float], old: View) -> Stretch:
    """A stretch with the stations that it has in either file."""
    part, start, stop, new_start, new_stop = stretch
    if old.turned_over:
        return Stretch(before=(-stop % old.total, -start % old.total), after=(new_stop, new_start), part=part)
    return Stretch(before=(start, stop), after=(new_start, new_stop), part=part)
