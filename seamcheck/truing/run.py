"""A file trued: every size corrected by itself, the result described, and written beside the old lines."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from seamcheck.amounts import count
from seamcheck.engine.read import read, read_to_redraw
from seamcheck.engine.result import Finding
from seamcheck.errors import Failure, SeamcheckError
from seamcheck.pattern.drawing import Note
from seamcheck.pieces.way_round import Ring, all_corners
from seamcheck.truing.changes import TruedPiece, changes
from seamcheck.truing.cut_lines import CutLine, on_sew_line, round_sew_line
from seamcheck.truing.propose import Truing, Wishes, letter, true_up
from seamcheck.truing.state import Judges, State, named_shapes

if TYPE_CHECKING:
    from seamcheck.comparison import Comparison
    from seamcheck.config.settings import Settings
    from seamcheck.engine.plugins import Registry
    from seamcheck.engine.read import Reading, Request
    from seamcheck.pattern.model import Piece
    from seamcheck.pattern.plan import Plan
    from seamcheck.pieces.outline import Shape


@dataclass(frozen=True, slots=True, kw_only=True)
class TruedFile:
    """What became of a file: one `Truing` for each size, what was drawn anew, and what should be known."""

    path: str
    reading: Reading
    sizes: tuple[Truing, ...]
    changes: tuple[TruedPiece, ...]
    notes: tuple[Note, ...]

    def __repr__(self) -> str:
        """Return one line."""
        corrections = sum(len(size.proposals) for size in self.sizes)
        return f"<Trued {self.path}: {count(corrections, 'correction')}, {count(len(self.left), 'finding')} left>"

    @property
    def left(self) -> tuple[Finding, ...]:
        """The findings that remain and that nobody has accepted."""
        return tuple(f for truing in self.sizes for f in truing.left.findings if f.accepted is None)

    @property
    def failures(self) -> tuple[Failure, ...]:
        """What could not be judged."""
        return tuple(dict.fromkeys(why for truing in self.sizes for why in truing.left.failures))


def true_file(
    path: str, request: Request, registry: Registry, settings: Settings, wishes: Wishes, before: str | None = None
) -> TruedFile:
    """Read a file and correct it in memory; SeamcheckError when it cannot be read, has no plan or no piece.

    What is not as it was in the file `before` gives way.
    """
    reading = read_to_redraw(path, request, registry, settings)
    assert reading.plan is not None
    held = wishes_of(reading.plan)
    wishes = replace(wishes, masters=wishes.masters | held.masters, seam_masters=held.seam_masters)
    if before is not None:
        wishes = _altered(before, reading, request, registry, settings, wishes)
    states = [opened(reading, size, registry, settings, request.allowance) for size in reading.pattern.sizes]
    trued = tuple(true_up(state, wishes) for state in states)
    for number, choice in (wishes.choices or {}).items():
        if not any(len(t.proposals) > number and len(t.proposals[number].alternatives) > choice for t in trued):
            raise _no_such_alternative(path, trued, number, choice)
    notes = tuple(_cut_only(states))
    return TruedFile(
        path=path,
        reading=reading,
        sizes=trued,
        changes=tuple(change for one in trued for change in changes(one.before, one.after)),
        notes=notes,
    )


def _no_such_alternative(path: str, trued: Iterable[Truing], number: int, choice: int) -> SeamcheckError:
    offered = max((len(t.proposals[number].alternatives) for t in trued if len(t.proposals) > number), default=0)
    last = f"{number + 1}{letter(offered - 1)} is the last" if offered else f"there is no proposal {number + 1}"
    return SeamcheckError(
        f"{number + 1}{letter(choice)} cannot be chosen: {last}",
        path=path,
        remedy="look at the proposals once more without --choose",
    )


def wishes_of(plan: Plan) -> Wishes:
    """What a plan says of who never gives way."""
    by_seam = {
        seam.name: frozenset(use.piece for use in seam.sides[0 if seam.master == "first" else 1])
        for seam in plan.seams
        if seam.master
    }
    return Wishes(masters=frozenset(piece.name for piece in plan.pieces if piece.master), seam_masters=by_seam)


def _altered(
    before: str, reading: Reading, request: Request, registry: Registry, settings: Settings, wishes: Wishes
) -> Wishes:
    """That what is not as it was in the file before gives way."""
    from seamcheck.comparison.compare import compare

    old, _ = read(before, replace(request, plan=_plan_of(before, request)), registry, settings)
    return altered_since(compare(old, reading.pattern), wishes)


def altered_since(comparison: Comparison, wishes: Wishes) -> Wishes:
    """That what changed gives way: the pieces, at the corners where an edge ends elsewhere on its line."""
    changed = [change for change in comparison.pieces if not change.unchanged]
    return replace(
        wishes,
        altered=frozenset(change.name for change in changed),
        moved=frozenset((change.name, end.corner) for change in changed for end in change.ends),
    )


def _plan_of(before: str, request: Request) -> Path | None:
    """The plan that holds for the file before: its own, else the one that was named."""
    from seamcheck.config.plan_file import find_plan

    return find_plan(before) or request.plan


def opened(
    reading: Reading, size: str, registry: Registry, settings: Settings, allowance: float | None = None
) -> State:
    """One size made ready: its plan's corners are those that were found in it."""
    assert reading.plan is not None
    pieces = reading.pattern.in_size(size)
    planned = {piece.name: piece for piece in reading.plan.pieces}
    plans = {
        piece.name: replace(planned[piece.name], corners=_corners(piece.name, reading, size))
        for piece in pieces
        if piece.name in planned
    }
    shapes = named_shapes(pieces, reading.sheet.shapes, size)
    cuts: dict[str, CutLine] = {}
    allowance = settings.allowance if allowance is None else allowance
    for piece in pieces:
        shape = shapes[piece.name]
        sewn = _on_sew_line(reading, piece, shape, allowance) if piece.name in plans else None
        if sewn is not None:
            shapes[piece.name], cuts[piece.name] = sewn
        elif piece.outline is piece.drawn:
            shapes[piece.name] = replace(shape, corners=_known(piece, shape.corners))
    return State(
        pattern=replace(reading.pattern, sizes=(size,), pieces=pieces),
        size=size,
        shapes=shapes,
        plans=plans,
        judges=Judges(reading.plan, registry.checks, settings),
        cuts=cuts,
    )


def _known(piece: Piece, detected: Sequence[float]) -> tuple[float, ...]:
    """The corners of an outline with those that the plan names on smooth lines, so that no trial looks for them again."""
    named = {corner.name: corner.station for corner in piece.corners if corner.named}
    return tuple(sorted(all_corners(Ring(piece.outline), detected, named).values()))


def _on_sew_line(
    reading: Reading, piece: Piece, shape: Shape, allowance: float | None
) -> tuple[Shape, CutLine] | None:
    """What a piece of which the file draws the cut line is trued on, and that line; None where it cannot follow or there is none."""
    assert reading.plan is not None
    if piece.outline is piece.drawn:
        return None
    if shape.other is not None:
        cut = round_sew_line(shape, piece)
        return None if cut is None else (shape, cut)
    darts = [dart for dart in reading.plan.darts if dart.piece == piece.name]
    pleats = [pleat for pleat in reading.plan.pleats if pleat.piece == piece.name]
    return on_sew_line(shape, piece, reading.plan.piece(piece.name), darts, pleats, allowance)


def _corners(name: str, reading: Reading, size: str) -> Mapping[str, complex]:
    """Where the plan's corners are in one size; those inside the piece stay where the plan has them."""
    assert reading.plan is not None
    piece = next(piece for piece in reading.pattern.in_size(size) if piece.name == name)
    found = {corner.name: corner.at for corner in piece.corners if corner.named}
    for dart in piece.darts:
        found |= dict(zip(dart.corners, dart.points, strict=True))
    return {corner: found.get(corner, at) for corner, at in reading.plan.piece(name).corners.items()}


def _cut_only(states: Iterable[State]) -> Iterable[Note]:
    names = sorted(
        {p.name for one in states for p in one.pattern.pieces if p.outline is not p.drawn and p.name not in one.cuts}
    )
    if names:
        yield Note(
            "cut-line-not-trued",
            f"{', '.join(names)}: the cut line is drawn beside the sew line or in its stead; it is not redrawn. Draw it anew "
            "round the trued sew line.",
        )
