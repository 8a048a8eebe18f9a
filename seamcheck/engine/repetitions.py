"""What would be said twice is said once: decided after grading, by what will in fact be said.

A finding, or a skip, that repeats another finding is left out where that one is really said of the same subject, in the same size,
however grave it is. Where it is not, because its check is turned off, or crashed, or allows as much, the repetition stands: what
was looked at is told by somebody. Where the plan accepts the finding that is repeated, its reason covers the repetition too.

A stretch that carries a seam's whole difference is named by seam-length and not repeated by seam-span, unless
seam-length is turned off, allows as much, or crashed.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from seamcheck.exact import snapped_point

if TYPE_CHECKING:
    from seamcheck.checks.base import Check, Observation, Repetition
    from seamcheck.config.settings import Settings
    from seamcheck.engine.observe import Ran
    from seamcheck.engine.result import Finding
    from seamcheck.pattern.drawing import Note


class Graded(NamedTuple):
    """A run, and those of its observations that amount to a finding, each with it."""

    ran: Ran
    findings: tuple[tuple[Observation, Finding], ...] = ()


def say_once(graded: Sequence[Graded]) -> list[Graded]:
    """The same without the findings and the skips that repeat what another finding says."""
    found = [one for run in graded for one in run.findings]
    dropped = _repetitions(found)
    said: dict[str, list[Finding]] = {}
    for _, finding in found:
        said.setdefault(finding.size, []).append(finding)
    return [_without(run, dropped, said.get(run.ran.size, ())) for run in graded]


def _without(run: Graded, dropped: Container[int], said: Sequence[Finding]) -> Graded:
    """A run without what is dropped and the skips that are said; most have neither, and stay as they are."""
    skips = tuple(skip for skip in run.ran.skips if not _is_said(skip.repeats, said))
    findings = tuple(one for one in run.findings if id(one[1]) not in dropped)
    if (len(skips), len(findings)) == (len(run.ran.skips), len(run.findings)):
        return run
    return run._replace(ran=replace(run.ran, skips=skips), findings=findings)


def _is_said(repeats: Iterable[Repetition], said: Sequence[Finding]) -> bool:
    return any(_says(finding, repeated) for repeated in repeats for finding in said)


def _says(finding: Finding, repeated: Repetition) -> bool:
    """Whether a finding is the one that would be repeated."""
    return (
        repeated.check == finding.check
        and (not repeated.codes or finding.code in repeated.codes)
        and repeated.seam in (None, finding.seam)
        and (repeated.piece is None or repeated.piece in finding.pieces)
        and (repeated.edge is None or repeated.edge in finding.edges)
        and (repeated.at is None or snapped_point(repeated.at) == finding.at)
    )


def _repetitions(found: Sequence[tuple[Observation, Finding]]) -> set[int]:
    """Which findings, by identity, repeat one that stands, or one that is itself left out for one that stands."""
    places: dict[tuple[str, str], list[int]] = {}
    for k, (_, finding) in enumerate(found):
        places.setdefault((finding.size, finding.check), []).append(k)
    because: dict[int, int] = {}

    def stands_for(k: int) -> int:
        while k in because:
            k = because[k]
        return k

    for k, (seen, finding) in enumerate(found):
        for repeated in seen.repeats:
            for head in places.get((finding.size, repeated.check), ()):
                # Of findings that repeat one another in a circle the last one stands.
                if k not in because and stands_for(head) != k and _says(found[head][1], repeated):
                    because[k] = head
    return {id(found[k][1]) for k in because}


def notes_not_said(
    notes: Iterable[Note],
    checks: Iterable[Check],
    said: Iterable[Finding],
    crashed: Iterable[str],
    settings: Settings,
) -> tuple[Note, ...]:
    """The notes of the reading that no check makes findings of.

    A check that looked speaks for the reading, also where it found nothing; one that crashed, or is turned off in part or whole
    and says nothing, does not.
    """
    speaking = {finding.check for finding in said}
    mute = set(crashed)
    told = {
        note
        for check in checks
        if check.name in speaking
        or not (check.name in mute or any(settings.severity(check.name, code.name) == "off" for code in check.codes))
        for note in check.notes
    }
    return tuple(note for note in notes if note.code not in told)
