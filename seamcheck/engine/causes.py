"""Causes: what a person puts right in one go, each with its signs and one recipe.

cause    one thing that went wrong: a piece that was altered and not trued, one broken size, or a finding that stands by itself
head     the group of findings that a cause is told by: the seam that is off, where one is
sign     a group that comes of the same cause; it is listed below the head and needs no recipe of its own

Every finding is in exactly one cause. What the findings of a cause have in common is known from what was observed
(see evidence.py); that one size alone is broken is seen from the findings of all sizes.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from seamcheck.amounts import Name
from seamcheck.engine.grouping import fold, order, weight

if TYPE_CHECKING:
    from seamcheck.amounts import Phrase
    from seamcheck.checks.base import Severity
    from seamcheck.engine.grouping import Group
    from seamcheck.engine.result import FileResult, Finding, Recipe

LENGTH_CHECK = "seam-length"  # the check whose findings head a cause
SIZE_CHECK = "size-run"  # the check that names a broken size
RUN = 3  # sizes, before one of them can stand out
DRAGGED = 3  # findings in one size alone that are taken for one broken size, though its lengths run evenly


@dataclass(frozen=True, slots=True)
class Cause:
    """What is put right in one go: the group it is told by, and the groups that come of the same, the worst first."""

    head: Group
    signs: tuple[Group, ...] = ()
    broken_size: bool = False

    @property
    def groups(self) -> tuple[Group, ...]:
        """The head and its signs."""
        return self.head, *self.signs

    @property
    def findings(self) -> tuple[Finding, ...]:
        """The findings of all groups."""
        return tuple(finding for group in self.groups for finding in group.findings)

    @property
    def worst(self) -> Finding:
        """The finding that is told in full."""
        return self.head.worst

    @property
    def severity(self) -> Severity:
        """The worst severity of all its groups."""
        return min((group.severity for group in self.groups), key=lambda severity: severity.rank)

    @property
    def accepted(self) -> str | None:
        """Why the shop accepts it; None when it does not."""
        return self.head.accepted

    @property
    def counts(self) -> bool:
        """Whether it is to be put right: nobody accepted it, and no record knows it."""
        return self.head.counts

    @property
    def kind(self) -> str:
        """What went wrong, in a stable word."""
        if self.broken_size:
            return "broken-size"
        if "undo" in self.worst.facts:
            return "hinge-not-trued"
        return "altered-alone" if self.piece else "single"

    @property
    def piece(self) -> str | None:
        """The piece that was altered, where that is known or likely."""
        altered = self.worst.facts.get("altered")
        return str(altered) if isinstance(altered, Name) else None

    @property
    def probably(self) -> Phrase | None:
        """What happened, as a sentence without its full stop; None where nothing tells."""
        return self.worst.probably

    @property
    def recipe(self) -> Recipe | None:
        """The steps that put it right, where such were tried; else the advice of its head holds."""
        return self.worst.recipe


def causes_of(file: FileResult) -> tuple[Cause, ...]:
    """The causes of all that was found in a file, the worst first, those that do not count last."""
    groups = fold(file)
    causes = _joined(groups)
    if len(file.sizes) >= RUN:
        causes = _by_broken_size(causes, file.sizes)
    return tuple(sorted(causes, key=_order))


def _order(cause: Cause) -> tuple[bool, int, tuple[int, float]]:
    return not cause.counts, cause.severity.rank, weight(cause.worst)


def _joined(groups: Sequence[Group]) -> list[Cause]:
    """Groups put together whose findings are signs of the same."""
    sets: list[tuple[set[tuple[bool, str]], list[Group]]] = []
    for group in groups:
        # What is known is no sign of what is new, nor the other way round.
        keys = {(one.known, one.cause) for one in group.findings if one.accepted is None and one.cause}
        mine, others = [group], []
        for known, members in sets:
            if keys & known:
                keys |= known
                mine = [*members, *mine]
            else:
                others.append((known, members))
        sets = [*others, (keys, mine)]
    return [_headed(members) for _, members in sets]


def _headed(groups: Iterable[Group]) -> Cause:
    """A cause of these groups: the worst seam that is off is its head, where one is."""
    ranked = sorted(groups, key=lambda group: (group.worst.check != LENGTH_CHECK, *order(group)))
    return Cause(ranked[0], tuple(sorted(ranked[1:], key=order)))


# One broken size


def _by_broken_size(causes: Sequence[Cause], sizes: Sequence[str]) -> list[Cause]:
    """Put under one head what was found in one size alone and touches the pieces that are broken there."""
    alone: dict[str, list[Cause]] = {size: [] for size in sizes}
    for cause in causes:
        of_sizes = {size for group in cause.groups for size in group.sizes}
        if cause.counts and len(of_sizes) == 1:
            alone.setdefault(of_sizes.pop(), []).append(cause)
    heads: list[Cause] = []
    taken: set[int] = set()
    for found in alone.values():
        head, rest = _broken(found)
        if head is not None and rest:
            signs = [*head.signs, *(group for cause in rest for group in cause.groups)]
            heads.append(Cause(head.head, tuple(sorted(signs, key=order)), broken_size=True))
            taken |= {id(head), *map(id, rest)}
    return [*heads, *(cause for cause in causes if id(cause) not in taken)]


def _broken(found: Sequence[Cause]) -> tuple[Cause | None, list[Cause]]:
    """Of what one size alone has: the cause that names it, and those that follow from it."""
    named = [cause for cause in found if any(group.worst.check == SIZE_CHECK for group in cause.groups)]
    if named:
        head = min(named, key=_order)
        pieces = {piece for cause in named for piece in _pieces(cause)}
    else:
        groups = [group for cause in found for group in cause.groups]
        touched = Counter(piece for group in groups for piece in sorted(_pieces(group)))
        piece, times = max(touched.items(), key=lambda item: item[1], default=("", 0))
        if times < DRAGGED:
            return None, []
        pieces = {piece}
        head = min((cause for cause in found if piece in _pieces(cause)), key=_order)
    return head, [cause for cause in found if cause is not head and _pieces(cause) & pieces]


def _pieces(of: Cause | Group) -> set[str]:
    return {piece for finding in of.findings for piece in finding.pieces}
