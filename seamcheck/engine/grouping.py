"""Findings that repeat, told once: over sizes, and over mirrored twins and copies.

Every finding stays what it is and lands in exactly one group; reports tell a group as one thing, with its range.

place   one kind of finding on one set of edges or pieces, in the sizes in which it was made
group   a place, or several that say the same of other pieces

Findings are folded for the telling, never merged. Each stays in the JSON as it is; `groups` there, and every
report, tell as one what repeats over sizes and over pieces by the same amounts (twins, copies, a thing left out
everywhere).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from seamcheck.checks.base import Severity
from seamcheck.engine.said import SAME, all_alike, form, form_in_any_size, same_amounts
from seamcheck.exact import least, most

if TYPE_CHECKING:
    from seamcheck.engine.result import FileResult, Finding

Occurrence = tuple["Finding", ...]


@dataclass(frozen=True, slots=True)
class Group:
    """What is told as one thing: a finding in its sizes, on all pieces that it repeats on.

    `places` hold the findings of one set of pieces each, in the order of the file's sizes; the first is the worst.
    """

    places: tuple[Occurrence, ...]

    @property
    def findings(self) -> Occurrence:
        """The findings of all places."""
        return tuple(finding for place in self.places for finding in place)

    @property
    def worst(self) -> Finding:
        """The finding that is told in full."""
        return min(self.places[0], key=weight)

    @property
    def severity(self) -> Severity:
        """The worst severity in the group."""
        return self.worst.severity

    @property
    def accepted(self) -> str | None:
        """Why the shop accepts it; None when it does not."""
        return self.worst.accepted

    @property
    def counts(self) -> bool:
        """Whether it is to be put right: nobody accepted it, and no record knows it."""
        return self.worst.counts

    @property
    def sizes(self) -> tuple[str, ...]:
        """The sizes it was found in, in the file's order."""
        return tuple(dict.fromkeys(finding.size for finding in self.places[0]))

    @property
    def range(self) -> tuple[Finding, Finding] | None:
        """The findings of the least and the greatest amount over the sizes; None where all are told alike."""
        measured = [finding for finding in self.places[0] if finding.measured is not None]
        if len(measured) < 2 or all_alike(self.places[0]):
            return None
        return least(measured, key=_amount), most(measured, key=_amount)


def _amount(finding: Finding) -> float:
    return abs(finding.measured or 0.0)


def weight(finding: Finding) -> tuple[int, float]:
    """Sorts the worst first: by severity; in one severity what cannot be measured, then by tolerances missed."""
    if finding.measured is None:
        return finding.severity.rank, float("-inf")
    return finding.severity.rank, -round(abs(finding.measured) / (finding.tolerance or 1.0), 6)


def fold(file: FileResult) -> tuple[Group, ...]:
    """The findings of a file in groups, the worst first, those that do not count last."""
    return tuple(sorted(_repeated(_over_sizes(file.findings, file.sizes), file.pieces), key=order))


def order(group: Group) -> tuple[bool, int, tuple[int, float]]:
    """Sorts the worst group first, those that do not count last."""
    return not group.counts, group.severity.rank, weight(group.worst)


# One finding in several sizes


def _over_sizes(findings: Sequence[Finding], sizes: Sequence[str]) -> list[Occurrence]:
    """Put findings together that say the same of several sizes.

    Where one size has several of the kind, say two notches on one edge, each goes to the one of the sizes before that
    is told in the same words, or else is drawn nearest to it.
    """
    kinds: dict[object, list[Finding]] = {}
    for finding in findings:
        kind = (
            finding.check,
            finding.code,
            finding.seam,
            finding.pieces,
            finding.edges,
            finding.accepted,
            finding.known,
        )
        kinds.setdefault(kind, []).append(finding)
    rank = {size: k for k, size in enumerate(sizes)}
    places: list[Occurrence] = []
    for kind_of in kinds.values():
        chains: list[list[Finding]] = []
        for finding in sorted(kind_of, key=lambda one: rank.get(one.size, len(rank))):
            free = [chain for chain in chains if chain[-1].size != finding.size]
            if free:
                min(free, key=lambda chain: _apart(chain[-1], finding)).append(finding)
            else:
                chains.append([finding])
        places += [tuple(chain) for chain in chains]
    return places


def _apart(one: Finding, other: Finding) -> tuple[bool, float]:
    distance = abs(one.at - other.at) if one.at is not None and other.at is not None else 0.0
    return form_in_any_size(one) != form_in_any_size(other), round(distance, 6)


# One finding on several pieces: mirrored twins, copies, or a thing that was left out everywhere


def _repeated(places: Iterable[Occurrence], names: Sequence[str]) -> list[Group]:
    """Put places together that say the same of other pieces, by the same amounts."""
    alike: dict[object, list[list[Occurrence]]] = {}
    for place in sorted(places, key=lambda place: min(map(weight, place))):
        told = [
            (one.severity, one.size, one.accepted, one.known, len(one.pieces), form(one, {*names, *one.pieces}))
            for one in place
        ]
        groups = alike.setdefault(tuple(told), [])
        for group in groups:
            if _same_amounts(group[0], place) and all(_elsewhere(other, place) for other in group):
                group.append(place)
                break
        else:
            groups.append([place])
    return [Group(tuple(group)) for groups in alike.values() for group in groups]


def _same_amounts(one: Occurrence, other: Occurrence) -> bool:
    return all(
        abs((a.measured or 0.0) - (b.measured or 0.0)) <= SAME and same_amounts(a, b)
        for a, b in zip(one, other, strict=True)
    )


def _elsewhere(one: Occurrence, other: Occurrence) -> bool:
    return bool(one[0].pieces) and one[0].pieces != other[0].pieces
