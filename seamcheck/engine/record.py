"""What a shop knew when it began: findings that are recorded, so that only new ones count and the record only shrinks.

A record says for every file, and in it for every way of failing and every object (a seam, else edges, else pieces), how grave the
findings are that were there. A run against it sets those aside as long as they are no more and none is graver; when there are more,
nobody can say which is the new one, and all of that kind and object are told. Recording again takes out what is mended and adds nothing.

The record is JSON, sorted, one line an object, so that a change of it can be read:

    {"schema": "seamcheck.known/1", "files": {"styles/ferryhand.svg": {"seam-length/long": {"seam outseam": ["error"]}}}}

A record holds severities and not bare counts: a seam that was a hair short and is now short by an inch is new. Nothing is
ever added to a record that exists; delete it to begin anew.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from seamcheck.checks.base import Severity
from seamcheck.engine.result import FileResult, Finding, Report
from seamcheck.errors import SeamcheckError
from seamcheck.files import COPY_IT, NOT_A_FILE, is_endless
from seamcheck.pattern.subject import Subject
from seamcheck.spelling import unturned

SCHEMA = "seamcheck.known/1"
WHY = "known when it was recorded"

Kinds = Mapping[tuple[str, str], tuple[Severity, ...]]  # (check/code, object) -> severities, the gravest first


@dataclass(frozen=True, slots=True)
class Known:
    """A record: the file it is kept in, and for each pattern, by its path from there, what is known of it."""

    path: Path
    files: Mapping[str, Kinds] = field(default_factory=dict)

    def name(self, path: str) -> str:
        """The name under which a pattern is recorded: its path from the folder of the record."""
        return Path(os.path.relpath(Path(path).resolve(), self.path.resolve().parent)).as_posix()

    def set_aside(self, report: Report) -> Report:
        """The report with what is known accepted, so that only what is new counts."""
        return replace(report, files=tuple(self.of_file(file) for file in report.files))

    def of_file(self, file: FileResult) -> FileResult:
        """The same of one file."""
        known = self.files.get(self.name(file.path), {})
        covered = {kind for kind, found in kinds(file).items() if _covers(known.get(kind, ()), found)}
        findings = tuple(
            replace(finding, accepted=WHY) if finding.accepted is None and kind_of(finding) in covered else finding
            for finding in file.findings
        )
        return replace(file, findings=findings)

    def shrunk(self, report: Report) -> Known:
        """The record without what is mended: nothing is added, and what has grown stays as it was recorded.

        Files that were not judged, or not wholly, keep what is known of them; files that are gone lose it.
        """
        now = {self.name(file.path): kinds(file) for file in report.files if not file.failures}
        named = {self.name(file.path) for file in report.files}
        folder = self.path.resolve().parent
        files = {}
        for name, known in self.files.items():
            if name in now:
                found = now[name]
                known = {
                    kind: found[kind] if _covers(recorded, found[kind]) else recorded
                    for kind, recorded in known.items()
                    if kind in found
                }
            elif name not in named and not (folder / name).exists():
                continue
            if known:
                files[name] = known
        return replace(self, files=files)

    def text(self) -> str:
        """The record as it is written."""
        lines = []
        for name, known in sorted(self.files.items()):
            codes: dict[str, list[str]] = {}
            for (code, thing), severities in sorted(known.items()):
                told = json.dumps([severity.value for severity in severities])
                codes.setdefault(code, []).append(
                    f"        {unturned(json.dumps(thing, ensure_ascii=False))}: {told}"
                )
            inner = ",\n".join(_block(code, things) for code, things in codes.items())
            lines.append(f"    {unturned(json.dumps(name, ensure_ascii=False))}: {{\n{inner}\n    }}")
        body = "{\n" + ",\n".join(lines) + "\n  }" if lines else "{}"
        return f'{{\n  "schema": "{SCHEMA}",\n  "files": {body}\n}}\n'


def _block(code: str, things: Sequence[str]) -> str:
    return f"      {json.dumps(code)}: {{\n" + ",\n".join(things) + "\n      }"


def recorded(path: Path, report: Report) -> Known:
    """A new record of all that a report found."""
    known = Known(path)
    found = {known.name(file.path): kinds(file) for file in report.files}
    return replace(known, files={name: kind for name, kind in found.items() if kind})


def kinds(file: FileResult) -> Kinds:
    """The findings of a file that nobody has accepted, by kind and object."""
    found: dict[tuple[str, str], list[Severity]] = {}
    for finding in file.findings:
        if finding.accepted is None:
            found.setdefault(kind_of(finding), []).append(finding.severity)
    return {kind: tuple(sorted(severities, key=lambda one: one.rank)) for kind, severities in found.items()}


def kind_of(finding: Finding) -> tuple[str, str]:
    """The way of failing, and the object that a finding is about."""
    about = Subject.named(finding.seam, finding.edges, finding.pieces)
    return f"{finding.check}/{finding.code}", f"{about.kind} {', '.join(about.names)}".rstrip()


def _covers(recorded: Sequence[Severity], found: Sequence[Severity]) -> bool:
    """Whether findings are no more than those recorded, and none is graver."""
    return len(found) <= len(recorded) and all(
        one.rank >= other.rank for one, other in zip(found, recorded, strict=False)
    )


def read_known(path: Path) -> Known:
    """Read a record; SeamcheckError, one sentence, when it cannot be used."""
    remedy = "make it with: seamcheck check --record FILE ..."
    if is_endless(path):
        raise SeamcheckError(NOT_A_FILE, path=str(path), remedy=COPY_IT)
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        raise SeamcheckError("there is no record of known findings", path=str(path), remedy=remedy) from None
    except (OSError, UnicodeDecodeError) as error:
        raise SeamcheckError(f"the record of known findings cannot be read ({error})", path=str(path)) from None
    try:
        value = json.loads(text)
        if value["schema"] != SCHEMA:
            raise ValueError
        files = {name: dict(_kinds(codes)) for name, codes in value["files"].items()}
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        raise SeamcheckError("this is no record of known findings", path=str(path), remedy=remedy) from None
    return Known(path, files)


def _kinds(codes: Mapping[str, Any]) -> Iterable[tuple[tuple[str, str], tuple[Severity, ...]]]:
    for code, things in codes.items():
        for thing, severities in things.items():
            yield (code, thing), tuple(sorted((Severity(one) for one in severities), key=lambda one: one.rank))
