"""The recipe of every cause: the proposals of `true` that put it right, so that no report can say anything else than `true` does.

A recipe was tried on the pattern as it stands, step by step, and judged by the whole check. A cause that no redrawn line mends keeps the advice
of its checks.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from seamcheck.amounts import Length, Listed, Name, Phrase, begun, joined, phrase
from seamcheck.checks.places import corner_of
from seamcheck.engine.causes import Cause, causes_of
from seamcheck.engine.result import OtherWay, Recipe
from seamcheck.truing.mended import is_mended
from seamcheck.truing.weigh import key

if TYPE_CHECKING:
    from seamcheck.comparison import Comparison
    from seamcheck.config.settings import Settings
    from seamcheck.engine.plugins import Registry
    from seamcheck.engine.read import Reading
    from seamcheck.engine.result import FileResult, Finding
    from seamcheck.geometry.curve import Curve
    from seamcheck.pattern.model import Piece
    from seamcheck.truing.changes import MovedNotch
    from seamcheck.truing.propose import Alternative, CorrectionProposal, Truing
    from seamcheck.truing.state import State

MOST_SIZES = 2  # sizes in which recipes are tried: those that the worst causes are told in
MOST_STEPS = 8  # corrections that are tried to one size; what is left then keeps the advice of its checks

SIGN = phrase(
    "It comes of the same as what is found by {check} at {where}: put that right as is said there, then check again."
)
GIVEN_BACK = "{what}. By custom what a slash took is given back at that end, and not where it was cut"
AS_PLANNED = "{what}. The plan has given back at that end what a slash took"
SAME_IN_SIZE = "Do in this size what is done in size {size}, by {amount}."


def with_recipes(
    reading: Reading, result: FileResult, before: Comparison | None, registry: Registry, settings: Settings
) -> FileResult:
    """The result with the recipe of every cause that a redrawn line mends; what changed against an earlier file gives way."""
    causes = [cause for cause in causes_of(result) if cause.accepted is None]
    if reading.plan is None or not any(is_mended(finding) for cause in causes for finding in cause.findings):
        return result
    # Imported only here: most files have nothing that a redrawn line puts right.
    from seamcheck.truing.propose import true_up
    from seamcheck.truing.run import altered_since, opened, wishes_of

    wishes = wishes_of(reading.plan)
    if before is not None:
        wishes = altered_since(before, wishes)
    trued: dict[str, Truing] = {}
    for size in dict.fromkeys(cause.worst.size for cause in causes):
        if size in reading.pattern.sizes and len(trued) < MOST_SIZES:
            trued[size] = true_up(opened(reading, size, registry, settings), wishes, most=MOST_STEPS)
    told: dict[int, Finding] = {}
    for cause in causes:
        size = cause.worst.size
        recipe = _recipe(cause, trued[size], drawn=result.geometry is not None) if size in trued else None
        if recipe is not None:
            told |= dict(_told(cause, recipe))
    return replace(result, findings=tuple(told.get(id(finding), finding) for finding in result.findings))


def _recipe(cause: Cause, truing: Truing, *, drawn: bool) -> Recipe | None:
    """The proposals that are about a cause, as its steps, with the new lines where they are `drawn`; None where there are none."""
    mine = {key(finding) for finding in cause.findings}
    about = [(k, one) for k, one in enumerate(truing.proposals) if key(one.finding) in mine]
    if not about:
        return None
    number, first = about[0]
    # What the steps leave is mended by hand, as the check that found it says.
    left = {key(finding): finding for finding in truing.left.findings if key(finding) in mine}
    by_hand = [finding.remedy for finding in left.values() if finding.advice]
    undo = cause.worst.facts.get("undo")
    states = [truing.before, *(one.alternatives[one.taken].state for one in truing.proposals)]
    return Recipe(
        number=number + 1,
        pieces=first.alternatives[first.taken].pieces,
        steps=(*_steps(states, about, slashed=undo is not None), *by_hand),
        others=tuple(_others(first)),
        undo=undo if isinstance(undo, Phrase) else None,
        lines=tuple(_lines(states[about[-1][0] + 1], [one for _, one in about])) if drawn else (),
    )


def _lines(after: State, about: Sequence[CorrectionProposal]) -> Iterator[tuple[str, Curve]]:
    """The lines that some proposals draw anew, as they are after the last of them, each with its piece."""
    redrawn = (stray.edge for one in about for stray in one.alternatives[one.taken].strays)
    for name in dict.fromkeys(redrawn):
        piece, _, edge = name.partition(".")
        yield from ((piece, run) for run in after.pieces[piece].edge(edge).runs)


def _steps(
    states: Sequence[State], about: Sequence[tuple[int, CorrectionProposal]], *, slashed: bool
) -> Iterator[Phrase]:
    for k, one in about:
        taken = one.alternatives[one.taken]
        yield _step(states[k], taken, _why(taken) if slashed else "{what}")


def _why(taken: Alternative) -> str:
    """Why something is done at that end, round what it is, where a slash was given back."""
    return AS_PLANNED if taken.as_planned else GIVEN_BACK if taken.elsewhere else "{what}"


def _step(before: State, taken: Alternative, why: str) -> Phrase:
    """What is drawn anew, why at that end, and the notches that are moved along with it."""
    what = begun(taken.said)
    if why != "{what}":
        what = phrase(why, what=what)
    moves = [move for name in taken.pieces for move in _notches_moved(before.pieces[name], taken.state.pieces[name])]
    if not moves:
        return what
    return phrase("{what}. Then move {notches}", what=what, notches=Listed(tuple(moves), between="; ", last="; and "))


def _notches_moved(old: Piece, new: Piece) -> Iterator[Phrase]:
    """The notches of a piece that are moved along the line, edge by edge: by how much, and where they are then."""
    from seamcheck.truing.changes import NOTCH_MOVED, moved_notches

    moved: dict[str, list[MovedNotch]] = {}
    for one in moved_notches(old, new):
        if one.moved > NOTCH_MOVED:
            moved.setdefault(one.edge, []).append(one)
    for name, notches in moved.items():
        start = new.edge(name).start
        yield phrase(
            "{notches} of {edge} along the line, to {places} from {end}",
            notches="the notch" if len(notches) == 1 else f"{len(notches)} notches",
            edge=Name(f"{new.name}.{name}"),
            places=Listed(tuple(Length(one.stations[1]) for one in notches)),
            end=corner_of(new, start),
        )


def _others(proposal: CorrectionProposal) -> Iterator[OtherWay]:
    from seamcheck.truing.propose import letter

    for k, one in enumerate(proposal.alternatives):
        if k != proposal.taken:
            yield OtherWay(letter(k), one.pieces, phrase("{what}", what=one.said), one.followers)


def _told(cause: Cause, recipe: Recipe) -> Iterator[tuple[int, Finding]]:
    """The findings of a cause, by identity, as they are with its recipe: its head says what to do, and all others that the head does."""
    head = cause.worst
    yield id(head), replace(head, recipe=recipe, remedy=in_steps(recipe))
    for finding in cause.findings:
        if finding is head:
            continue
        same = finding.check == head.check and finding.measured is not None and finding.size != head.size
        remedy = (
            phrase(SAME_IN_SIZE, size=Name(head.size), amount=Length(abs(finding.measured or 0.0)))
            if same
            else Phrase(
                SIGN.template,
                (("check", head.check), ("where", Name(head.seam or ", ".join(head.edges or head.pieces)))),
            )
        )
        yield id(finding), replace(finding, remedy=remedy)


def in_steps(recipe: Recipe) -> Phrase:
    """The steps of a recipe as one text, numbered where there are several."""
    ended = [step if str(step).endswith(".") else joined((step, ".")) for step in recipe.steps]
    if len(ended) == 1:
        return ended[0]
    return joined((phrase("{k}. {step}", k=k, step=step) for k, step in enumerate(ended, start=1)), " ")
