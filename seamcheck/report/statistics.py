"""What a run over many files found, as tables: by check, by file and by cause."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from seamcheck.checks.base import Severity
from seamcheck.engine.causes import causes_of
from seamcheck.report import telling
from seamcheck.report.layout import aligned, wrap

if TYPE_CHECKING:
    from seamcheck.engine.report_format import RenderOptions
    from seamcheck.engine.result import Report

# The stable words of causes, as they are told.
CAUSES = {
    "hinge-not-trued": "a slash that was hinged, and not trued",
    "altered-alone": "a piece that was altered alone",
    "broken-size": "one size that breaks the run",
    "single": "nothing else tells of it",
}
COUNTED = "Findings count in every size. What is accepted or known is left out."


def statistics(report: Report, options: RenderOptions) -> str:
    """The sum of a run and its tables; without those where nothing was found."""
    files = [(file, [one for one in file.findings if one.counts]) for file in report.files]
    by_check = _table(
        (f"{one.check}/{one.code}", one.severity, file.path) for file, findings in files for one in findings
    )
    by_file = _table((file.path, one.severity, "") for file, findings in files for one in findings)
    by_cause = _table(
        (CAUSES[cause.kind], cause.severity, file.path)
        for file, _ in files
        for cause in causes_of(file)
        if cause.counts
    )
    parts = [wrap(telling.sum_of(report), options, hanging="  ")]
    if by_check:
        parts += [
            _told("By check", by_check, files=True),
            _told("By file", by_file),
            _told("By cause", by_cause, files=True),
            wrap(COUNTED, options),
        ]
    return "\n\n".join(parts) + "\n"


_Row = tuple[str, Counter[Severity], int]


def _table(found: Iterable[tuple[str, Severity, str]]) -> list[_Row]:
    """Each name with how much of which severity was found, and in how many files: what is gravest and most first."""
    counts: dict[str, Counter[Severity]] = {}
    files: dict[str, set[str]] = {}
    for name, severity, path in found:
        counts.setdefault(name, Counter())[severity] += 1
        files.setdefault(name, set()).add(path)
    rows = [(name, of, len(files[name])) for name, of in counts.items()]
    return sorted(rows, key=lambda row: (*(-row[1][severity] for severity in Severity), row[0]))


def _told(title: str, rows: Sequence[_Row], *, files: bool = False) -> str:
    head = [title, *(f"{severity.value}s" for severity in Severity), *(["files"] if files else [])]
    lines = [[name, *(str(of[one] or "") for one in Severity), *([str(n)] if files else [])] for name, of, n in rows]
    return "\n".join(aligned([head, *lines], right=range(1, len(head))))
