"""What the shop accepts: findings marked with the plan's reason, and the plan's entries that are no use any more.

stale      an entry whose place was judged, and the finding that it accepts is not there
unknown    an entry that names a check, seam, piece or edge that does not exist; a size may be that of another file
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from seamcheck.amounts import Fact, Listed, Name, Phrase, phrase
from seamcheck.checks.base import Check, Observation
from seamcheck.engine.grading import grade
from seamcheck.engine.result import Finding, Skipped
from seamcheck.spelling import nearest

if TYPE_CHECKING:
    from seamcheck.config.settings import Settings
    from seamcheck.pattern.model import Pattern
    from seamcheck.pattern.plan import AcceptedPlan, Plan

PLAN_CHECK = "plan-complete"


class Judged(NamedTuple):
    """What was judged: the whole pattern, the sizes looked at, and the checks that crashed or skipped something."""

    pattern: Pattern
    plan: Plan
    sizes: Sequence[str]
    checks: Sequence[Check]
    crashed: Collection[str]
    skipped: Sequence[Skipped]
    settings: Settings


def accept(findings: Sequence[Finding], run: Judged) -> tuple[list[Finding], list[Skipped]]:
    """The findings, marked where the plan accepts them, with those about its entries; and entries not judged."""
    used: set[int] = set()
    marked = []
    for finding in findings:
        entries = [k for k, entry in enumerate(run.plan.accepted) if matches(entry, finding)]
        used.update(entries)
        whys = [run.plan.accepted[k].why for k in entries]
        why = next((why for why in whys if why), "accepted without a reason") if entries else None
        marked.append(replace(finding, accepted=why) if entries else finding)
    own = next((check for check in run.checks if check.name == PLAN_CHECK), None)
    skipped: list[Skipped] = []
    if own is None:
        return marked, skipped
    for k, entry in enumerate(run.plan.accepted):
        size = entry.size if entry.size in run.sizes else next(iter(run.sizes), "")
        facts: dict[str, Fact] = {"entry": _described(entry)}
        wrong = _unknown(entry, run)
        not_judged = None if k in used or wrong else _not_judged(entry, run)
        codes = []
        if wrong:
            facts |= {"what": wrong[0], "remedy": wrong[1]}
            codes.append("accepted-unknown")
        elif not_judged is not None:
            skipped.append(
                Skipped(
                    check=PLAN_CHECK,
                    size=size or "",
                    reason="entry-not-judged",
                    why=phrase("whether {entry} is still so: {why}", entry=_described(entry), why=not_judged),
                )
            )
        elif k not in used:
            codes.append("accepted-unused")
        if not entry.why:
            codes.append("accepted-without-why")
        for code in codes:
            about = grade(Observation(code=code, facts=facts), own, size or "", run.settings)
            marked += [about] if about is not None else []
    return marked, skipped


def matches(entry: AcceptedPlan, finding: Finding) -> bool:
    """Whether an entry accepts a finding: it names nothing that the finding is not."""
    edges = {*finding.edges, *(edge.split(".", 1)[-1] for edge in finding.edges)}
    tests: tuple[tuple[str | None, Callable[[str], bool]], ...] = (
        (entry.check, lambda value: value == finding.check),
        (entry.code, lambda value: value == finding.code),
        (entry.seam, lambda value: value == finding.seam),
        (entry.piece, lambda value: value in finding.pieces),
        (entry.edge, lambda value: value in edges),
        (entry.size, lambda value: value == finding.size),
    )
    return all(test(value) for value, test in tests if value is not None)


def _unknown(entry: AcceptedPlan, run: Judged) -> tuple[Fact, str] | None:
    """The first thing that an entry names and that does not exist, and what may be meant."""
    check = next((one for one in run.checks if one.name == entry.check), None)
    codes = [code.name for code in check.codes] if check else []
    pieces = dict.fromkeys([*(piece.name for piece in run.plan.pieces), *(p.name for p in run.pattern.pieces)])
    edges = dict.fromkeys(
        [
            *(f"{piece.name}.{edge}" for piece in run.plan.pieces for edge in piece.edges),
            *(f"{piece.name}.{edge.name}" for piece in run.pattern.pieces for edge in piece.edges),
        ]
    )
    short = {edge.split(".", 1)[-1]: None for edge in edges}
    known: Mapping[str, tuple[str | None, Collection[str]]] = {
        "check": (entry.check, [one.name for one in run.checks]),
        "code": (entry.code, codes),
        "seam": (entry.seam, [seam.name for seam in run.plan.seams]),
        "piece": (entry.piece, list(pieces)),
        "edge": (entry.edge, list(edges if entry.edge and "." in entry.edge else short)),
    }
    for kind, (name, names) in known.items():
        if name is not None and name not in names:
            of = " of {check}" if kind == "code" else ""
            what = phrase(f'{kind} "{{name}}"{of}', name=Name(name), check=entry.check)
            return what, nearest(name, names, kind)
    return None


def _not_judged(entry: AcceptedPlan, run: Judged) -> Phrase | None:
    """Why it cannot be told whether an entry is stale; None when it can."""
    if entry.check in run.crashed:
        return phrase("{check} crashed", check=entry.check)
    code = entry.code or ""
    if run.settings.severity(entry.check, code) == "off":
        return phrase("{check} is turned off", check=entry.check)
    if entry.size and entry.size not in run.pattern.sizes:
        return phrase("the file has no size {size}", size=Name(entry.size))
    wanted = (entry.size,) if entry.size else run.pattern.sizes
    if any(size not in run.sizes for size in wanted):
        return phrase("not all sizes were looked at")
    return next(iter(_skips(entry, run.skipped)), None)


def _skips(entry: AcceptedPlan, skipped: Sequence[Skipped]) -> Iterator[Phrase]:
    """Why the check, or the walk of the seam, had nothing to judge by at the entry's place."""
    for one in skipped:
        lost = one.check == "seam-length" and one.seam is not None and one.seam == entry.seam
        places = ((one.seam, entry.seam), (one.piece, entry.piece), (one.edge, entry.edge))
        at_place = all(skip == place for skip, place in places if skip is not None)
        if lost or (one.check == entry.check and at_place and entry.size in (None, one.size)):
            yield one.words


def _described(entry: AcceptedPlan) -> Phrase:
    what = f"{entry.check}/{entry.code}" if entry.code else entry.check
    named = (("seam", entry.seam), ("piece", entry.piece), ("edge", entry.edge), ("size", entry.size))
    where = [phrase(f"{word} {{name}}", name=Name(value)) for word, value in named if value]
    at, place = " at {where}" if where else "", " ({place})" if entry.place else ""
    return phrase(f"{{what}}{at}{place}", what=what, where=Listed(tuple(where), last=", "), place=str(entry.place))
