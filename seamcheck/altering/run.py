"""The steps of a recipe carried out in order, in every size, each place found again after the one before.

base     the size in which distances along an edge are meant as they are written; in the others a place lies at the same share
left     a piece as it is taped: with stubs and kinks, and nothing given back
trued    what is blended, given back, its grain ruled straight; then what follows it, and what is left to be trued
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from seamcheck.altering.closing import reopened
from seamcheck.altering.cutting import CannotCutError
from seamcheck.altering.darts import darted
from seamcheck.altering.finishing import Given, blended, given_back, ruled_grain
from seamcheck.altering.reshaping import extended, scooped, tapered, wedged
from seamcheck.altering.turning import Turned, hinged, parted
from seamcheck.engine.read import read_to_redraw
from seamcheck.errors import SeamcheckError
from seamcheck.fits.piece import FitPiece, LacksRoleError
from seamcheck.fits.roles import is_in_role
from seamcheck.pattern.model import Piece
from seamcheck.pattern.recipe import (
    AlongEdge,
    DartMove,
    Extend,
    FitStep,
    Hinge,
    Parallel,
    Recipe,
    Scoop,
    Spot,
    Step,
    Taper,
    Wedge,
)
from seamcheck.pattern.spots import NoSpotError, edge_of
from seamcheck.spelling import nearest
from seamcheck.truing.changes import changes
from seamcheck.truing.propose import Truing, Wishes, true_up
from seamcheck.truing.run import TruedFile, opened, wishes_of
from seamcheck.truing.state import State

if TYPE_CHECKING:
    from seamcheck.config.settings import Settings
    from seamcheck.engine.plugins import Registry
    from seamcheck.engine.read import Reading, Request
    from seamcheck.fits.fit import Fit


@dataclass(frozen=True, slots=True, kw_only=True)
class DoneStep:
    """One move carried out in one size: the pattern before it, as it was taped, and after it; what it gave back.

    `turned` tells of a cut: its line, and the turns of its parts. `fit` is the name of the fit that it belongs to, and `amount` that of the fit.
    `kinked` are edges that could not be blended.
    """

    step: Step
    before: State
    laid: State
    after: State
    turned: Turned | None = None
    given: tuple[Given, ...] = ()
    kinked: tuple[str, ...] = ()
    fit: str = ""
    amount: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class AlteredSize:
    """One size altered: as it was, the moves, as they left it, and trued; `truing` is None where that was left."""

    size: str
    before: State
    steps: tuple[DoneStep, ...]
    altered: State
    truing: Truing | None

    @property
    def after(self) -> State:
        """The pattern as it is in the end."""
        return self.altered if self.truing is None else self.truing.after


@dataclass(frozen=True, slots=True, kw_only=True)
class AlteredFile:
    """What became of a file, size by size; `fits` are those that the recipe names."""

    path: str
    reading: Reading
    recipe: Recipe
    sizes: tuple[AlteredSize, ...]
    base: str
    fits: Mapping[str, Fit] = field(default_factory=dict)

    @property
    def pieces(self) -> tuple[str, ...]:
        """The pieces that steps were made on, in order."""
        return tuple(dict.fromkeys(done.step.piece for size in self.sizes for done in size.steps))

    @property
    def trued(self) -> TruedFile:
        """The same as a file that was trued: what is drawn and written of it."""
        truings = tuple(_as_trued(size) for size in self.sizes)
        return TruedFile(
            path=self.path,
            reading=self.reading,
            sizes=truings,
            changes=tuple(change for one in truings for change in changes(one.before, one.after)),
            notes=(),
        )


def _as_trued(size: AlteredSize) -> Truing:
    proposals = size.truing.proposals if size.truing is not None else ()
    left = size.truing.left if size.truing is not None else size.after.judged
    return Truing(before=size.before, after=size.after, proposals=proposals, left=left)


def alter_file(
    path: str, recipe: Recipe, request: Request, registry: Registry, settings: Settings, *, leave: bool = False
) -> AlteredFile:
    """Read a file and carry out a recipe in memory; SeamcheckError, with the place in the recipe, where a step cannot be made.

    With `leave` pieces stay as they were taped: nothing is blended, given back or trued.
    """
    reading = read_to_redraw(path, request, registry, settings)
    states = {size: opened(reading, size, registry, settings, request.allowance) for size in reading.pattern.sizes}
    fits = {fit.name: fit for fit in registry.fits}
    base = base_size(reading)
    shares: dict[tuple[int, Spot], Spot] = {}
    done = {}
    for size in (base, *(one for one in states if one != base)):
        run = _Run(path, recipe, states[size], fits, shares, leave=leave, base=size == base)
        done[size] = run.altered()
    for number, step in enumerate(recipe.steps):
        _require_sizes(step, number, reading.pattern.sizes, recipe)
    assert reading.plan is not None
    held = wishes_of(reading.plan)
    sizes = tuple(_finished(size, states[size], done[size], held, leave=leave) for size in states)
    if not any(size.steps for size in sizes):
        raise SeamcheckError("the recipe has no step for any of the sizes", path=recipe.path or path)
    used = {step.fit: fits[step.fit] for step in recipe.steps if isinstance(step, FitStep)}
    return AlteredFile(path=path, reading=reading, recipe=recipe, sizes=sizes, base=base, fits=used)


def base_size(reading: Reading) -> str:
    """The size in which the distances of a recipe are meant: the file's sample size, else the first."""
    sample = reading.drawing.sample_size
    return sample if sample in reading.pattern.sizes else reading.pattern.sizes[0]


def _require_sizes(step: Step, number: int, known: Sequence[str], recipe: Recipe) -> None:
    for size in step.sizes:
        if size not in known and recipe.path:
            raise SeamcheckError(
                f'step {number + 1}: there is no size "{size}"',
                path=recipe.path,
                place=step.place,
                remedy=nearest(size, known, "size"),
            )


def _finished(size: str, before: State, steps: tuple[DoneStep, ...], held: Wishes, *, leave: bool) -> AlteredSize:
    altered = steps[-1].after if steps else before
    truing = None
    if not leave and steps:
        pieces = frozenset(one.step.piece for one in steps)
        moved = frozenset(
            (name, corner.name)
            for name in pieces
            for corner in altered.pieces[name].corners
            if corner.named and corner.name in _moved_corners(before.pieces[name], altered.pieces[name])
        )
        wishes = replace(held, altered=pieces, moved=moved)
        truing = true_up(altered, wishes)
        truing = replace(truing, before=altered)
    return AlteredSize(size=size, before=before, steps=steps, altered=altered, truing=truing)


def _moved_corners(old: Piece, new: Piece) -> set[str]:
    was = {corner.name: corner.at for corner in old.corners}
    return {corner.name for corner in new.corners if corner.name in was and abs(corner.at - was[corner.name]) > 0.05}


class _Run:
    """One size being altered."""

    def __init__(
        self,
        path: str,
        recipe: Recipe,
        state: State,
        fits: Mapping[str, Fit],
        shares: dict[tuple[int, Spot], Spot],
        *,
        leave: bool,
        base: bool,
    ) -> None:
        self.path, self.recipe, self.state, self.fits = path, recipe, state, fits
        self.shares, self.leave, self.base = shares, leave, base

    def altered(self) -> tuple[DoneStep, ...]:
        """All steps that are for this size."""
        done: list[DoneStep] = []
        for number, step in enumerate(self.recipe.steps):
            if step.sizes and self.state.size not in step.sizes:
                continue
            try:
                for move, fit, amount in self._moves(number, step):
                    made = self._made(move)
                    done.append(replace(made, fit=fit, amount=amount))
                    self.state = made.after
            except (CannotCutError, NoSpotError, LacksRoleError) as error:
                of_several = f"step {number + 1}: " if len(self.recipe.steps) > 1 else ""
                size = f" (size {self.state.size})" if len(self.state.judges.plan.pieces) and not self.base else ""
                raise SeamcheckError(
                    f"{of_several}{error}{size}", path=self.recipe.path or self.path, place=step.place
                ) from error
        return tuple(done)

    def _moves(self, number: int, step: Step) -> Iterable[tuple[Step, str, float | None]]:
        if not isinstance(step, FitStep):
            piece = self._piece(step.piece)
            yield self._placed(number, step, piece), "", None
            return
        fit = self.fits.get(step.fit)
        if fit is None:
            known = sorted(self.fits)
            raise NoSpotError(
                f'there is no fit "{step.fit}"; {nearest(step.fit, known, "fit") if known else "no plugin brings any"}'
            )
        amount = fit.first if step.amount is None else step.amount
        if amount < 0.0 and not fit.minus:
            raise CannotCutError(
                f"{fit.name} by less than nothing makes no sense; what is done the other way is another fit"
            )
        for role, name in ((fit.role, step.piece), *((one, "") for one in fit.also)):
            # Each piece as those before have left the pattern.
            seen = FitPiece(self._of_role(fit, role, name), role, tuple(self.state.pieces.values()))
            for move in fit.steps(seen, amount):
                yield replace(move, place=step.place), fit.name, amount

    def _piece(self, name: str) -> Piece:
        if name not in self.state.pieces:
            raise NoSpotError(f'there is no piece "{name}"; {nearest(name, sorted(self.state.pieces), "piece")}')
        return self.state.pieces[name]

    def _of_role(self, fit: Fit, role: str, name: str) -> Piece:
        if name:
            return self._piece(name)
        pieces = [piece for piece in self.state.pieces.values() if is_in_role(piece, role)]
        if len(pieces) != 1:
            told = f"{len(pieces)} pieces are" if pieces else "no piece is"
            names = ", ".join(piece.name for piece in pieces) or ", ".join(sorted(self.state.pieces))
            raise LacksRoleError(
                f"{told} called a {role}, on which {fit.name} is made; name it with --piece: {names}"
            )
        return pieces[0]

    def _placed(self, number: int, step: Step, piece: Piece) -> Step:
        """A step with its places in this size: as written in the base size, at the same share of their edges in the others."""
        return with_spots(step, lambda spot: self._share_of(number, spot, piece))

    def _share_of(self, number: int, spot: Spot, piece: Piece) -> Spot:
        if not isinstance(spot, AlongEdge) or spot.share:
            return spot
        if self.base:
            length = edge_of(piece, spot.edge).length
            self.shares[number, spot] = replace(spot, amount=spot.amount / length, share=True)
            return spot
        return self.shares.get((number, spot), spot)

    def _made(self, step: Step) -> DoneStep:
        before = self.state
        piece = self._piece(step.piece)
        if piece.unsure or piece.lost_edges:
            lost = next(iter((*piece.unsure, *piece.lost_edges)))
            raise CannotCutError(
                f"{piece.name}: the plan's {lost} is not surely found in the file, so nothing is altered; see seamcheck pieces"
            )
        if piece.outline is not before.shapes[step.piece].outline:
            raise CannotCutError(
                f"{piece.name} is drawn by its cut line alone and its sew line cannot be drawn beside it all along"
            )
        turned: Turned | None = None
        kinked: tuple[str, ...] = ()
        given: tuple[Given, ...] = ()
        if isinstance(step, Hinge):
            turned = hinged(before, step)
        elif isinstance(step, Parallel):
            turned = parted(before, step)
        laid = turned.state if turned is not None else _reshaped(before, step)
        after = laid
        if not self.leave:
            if turned is not None:
                after, kinked = blended(before, after, step.piece, turned)
                after = ruled_grain(before, after, step.piece)
            after, given = given_back(before, after, step)
        return DoneStep(step=step, before=before, laid=laid, after=after, turned=turned, given=given, kinked=kinked)


def _reshaped(state: State, step: Step) -> State:
    if isinstance(step, Scoop):
        return scooped(state, step)
    if isinstance(step, Extend):
        return extended(state, step)
    if isinstance(step, Taper):
        return tapered(state, step)
    if isinstance(step, Wedge):
        return wedged(state, step)
    if isinstance(step, DartMove):
        changed = darted(state, step)
        return changed if step.into is None else reopened(changed, step)
    raise TypeError(f"a {type(step).__name__} is no move")


def with_spots(step: Step, placed: Callable[[Spot], Spot]) -> Step:
    """A step with each of its spots replaced by what a function makes of it."""
    if isinstance(step, Hinge):
        reliefs = tuple(replace(one, hinge=placed(one.hinge)) for one in step.reliefs)
        return replace(step, opens=placed(step.opens), hinge=placed(step.hinge), reliefs=reliefs)
    if isinstance(step, Parallel):
        return replace(step, cut=(placed(step.cut[0]), placed(step.cut[1])))
    if isinstance(step, Scoop):
        return replace(step, start=placed(step.start), end=placed(step.end))
    if isinstance(step, Extend):
        return replace(step, blend=None if step.blend is None else placed(step.blend))
    if isinstance(step, Taper):
        end = None if step.end is None else placed(step.end)
        return replace(step, start=placed(step.start), peak=placed(step.peak), end=end)
    if isinstance(step, Wedge):
        return replace(step, start=placed(step.start))
    if isinstance(step, DartMove) and step.into is not None:
        return replace(step, into=placed(step.into))
    return step
