"""Never worse: what a change makes of the findings.

A correction is offered only if the whole check, run on the pattern with it, has lowered its finding and raised
none. A written file is read back and checked before it takes its name.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from seamcheck.engine.result import FileResult, Finding

UNMEASURED = 2.0  # of its tolerance: what counts for a finding that is seen and not measured
SLACK = 0.05  # of a tolerance: what rounding may add to a finding

# What a corrected line may bring about and does no harm by: a piece that is right again may look alike from both its ends.
HARMLESS = frozenset({("notch-place", "alike")})

Key = tuple[object, ...]


def share(finding: Finding) -> float:
    """A finding as a share of its tolerance."""
    if finding.measured is None or not finding.tolerance:
        return UNMEASURED
    return abs(finding.measured) / finding.tolerance


def weight(findings: Iterable[Finding]) -> float:
    """The findings that nobody has accepted, added up as shares of their tolerances."""
    return sum(share(finding) for finding in findings if finding.accepted is None)


def key(finding: Finding) -> Key:
    """What makes two findings the same one before and after a change."""
    return finding.check, finding.seam, finding.edges, finding.pieces, finding.size


def raised(before: FileResult, after: FileResult) -> Finding | None:
    """The first finding that is new or has become worse, if there is one."""
    if after.failures and not before.failures:
        return after.findings[0] if after.findings else None
    old, new = _grouped(before.findings), _grouped(after.findings)
    for group, findings in new.items():
        had = sorted((share(finding) for finding in old.get(group, ())), reverse=True)
        has = sorted(findings, key=share, reverse=True)
        for k, finding in enumerate(has):
            if k >= len(had) or share(finding) > had[k] + SLACK:
                return finding
    return None


def lowered(target: Finding, before: FileResult, after: FileResult) -> bool:
    """Whether what a change is for has become less."""
    had = weight(f for f in before.findings if key(f) == key(target))
    has = weight(f for f in after.findings if key(f) == key(target))
    return has < had - SLACK


def _grouped(findings: Sequence[Finding]) -> dict[Key, list[Finding]]:
    groups: dict[Key, list[Finding]] = {}
    for finding in findings:
        if finding.accepted is None and (finding.check, finding.code) not in HARMLESS:
            groups.setdefault(key(finding), []).append(finding)
    return groups
