"""What a shop knew when it began: findings that are recorded, so that only new ones count and the record only shrinks.

A record says for every file, and in it for every way of failing and every object (a seam, else edges, else pieces), how grave the
findings are that were there. A run against it sets those aside as long as they are no more and none is graver; when there are more,
nobody can say which is the new one, and all of that kind and object are told. Recording again takes out what is mended and adds nothing.

The record is JSON, sorted, one line an object, so that a change of it can be read:

    {"schema": "seamcheck.known/1", "files": {"styles/ferryhand.svg": {"seam-length/long": {"seam outseam": ["error"]}}},
     "patterns": {"styles/ferryhand.svg": {"bytes": "4be0d9f1c26a7538", "seams": "77a1c3f05b9e2d64"}}}

A record holds severities and not bare counts: a seam that was a hair short and is now short by an inch is new. Nothing is
ever added to a record that exists; delete it to begin anew.

A file that is not recorded, and is the same as a recorded one that is gone, was renamed: the same bytes, else the same pieces and
seams under the same file name, else these alone where no other that is gone has them too.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from hashlib import sha256
from pathlib import Path, PurePosixPath
from typing import Any

from seamcheck.checks.base import Severity
from seamcheck.engine.result import FileResult, Finding, Report
from seamcheck.errors import SeamcheckError
from seamcheck.files import COPY_IT, NOT_A_FILE, is_endless
from seamcheck.pattern.subject import Subject
from seamcheck.spelling import unturned

SCHEMA = "seamcheck.known/1"

Kinds = Mapping[tuple[str, str], tuple[Severity, ...]]  # (check/code, object) -> severities, the gravest first


@dataclass(frozen=True, slots=True)
class Known:
    """A record: the file it is kept in, and for each pattern, by its path from there, what is known of it."""

    path: Path
    files: Mapping[str, Kinds] = field(default_factory=dict)
    patterns: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    _taken: dict[str, str] = field(default_factory=dict, compare=False)  # the new name of each that was renamed

    def name(self, path: str) -> str:
        """The name under which a pattern is recorded: its path from the folder of the record."""
        return Path(os.path.relpath(Path(path).resolve(), self.path.resolve().parent)).as_posix()

    def set_aside(self, report: Report) -> Report:
        """The report with what is known marked, so that only what is new counts."""
        return replace(report, files=tuple(self.of_file(file) for file in report.files))

    def of_file(self, file: FileResult) -> FileResult:
        """The same of one file."""
        name = self._recorded(file)
        known = self.files.get(name, {})
        covered = {kind for kind, found in kinds(file).items() if _covers(known.get(kind, ()), found)}
        findings = tuple(
            replace(finding, known=True) if finding.accepted is None and kind_of(finding) in covered else finding
            for finding in file.findings
        )
        return replace(file, findings=findings, recorded_as=name if name != self.name(file.path) else None)

    def _recorded(self, file: FileResult) -> str:
        """The name that a file has in the record: another than its own where it was renamed."""
        name = self.name(file.path)
        if name in self.files or file.failures:
            return name
        folder, own = self.path.resolve().parent, identity(file)
        gone = {
            other: kept
            for other, kept in self.patterns.items()
            if other in self.files and self._taken.get(other, name) == name and not (folder / other).exists()
        }
        sewn = [other for other, kept in gone.items() if kept["seams"] and kept["seams"] == own["seams"]]
        same = [other for other, kept in gone.items() if kept["bytes"] and kept["bytes"] == own["bytes"]][:1]
        same = same or [other for other in sewn if PurePosixPath(other).name == PurePosixPath(name).name][:1] or sewn
        if len(same) != 1:
            return name
        self._taken[same[0]] = name
        return same[0]

    def shrunk(self, report: Report) -> Known:
        """The record without what is mended: nothing is added, and what has grown stays as it was recorded.

        Files that were not judged, or not wholly, keep what is known of them; files that are gone lose it.
        """
        now = {self._recorded(file): file for file in report.files if not file.failures}
        named = {self.name(file.path) for file in report.files}
        folder = self.path.resolve().parent
        files, patterns = {}, {}
        kept: Mapping[str, str]
        for name, known in self.files.items():
            if name in now:
                file = now[name]
                found, kept, name = kinds(file), identity(file), self.name(file.path)
                known = {
                    kind: found[kind] if _covers(recorded, found[kind]) else recorded
                    for kind, recorded in known.items()
                    if kind in found
                }
            elif name not in named and not (folder / name).exists():
                continue
            else:
                kept = self.patterns.get(name, {})
            if known:
                files[name] = known
            if known and kept:
                patterns[name] = kept
        return Known(self.path, files, patterns)

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
        same = [
            f"    {json.dumps(name, ensure_ascii=False)}: {json.dumps(self.patterns[name])}"
            for name in sorted(self.patterns)
        ]
        if same:
            body += ',\n  "patterns": {\n' + ",\n".join(same) + "\n  }"
        return f'{{\n  "schema": "{SCHEMA}",\n  "files": {body}\n}}\n'


def _block(code: str, things: Sequence[str]) -> str:
    return f"      {json.dumps(code)}: {{\n" + ",\n".join(things) + "\n      }"


def recorded(path: Path, report: Report) -> Known:
    """A new record of all that a report found."""
    known = Known(path)
    found = {known.name(file.path): file for file in report.files if kinds(file)}
    return replace(
        known,
        files={name: kinds(file) for name, file in found.items()},
        patterns={name: identity(file) for name, file in found.items()},
    )


def identity(file: FileResult) -> dict[str, str]:
    """What a file is known by where its name is not: its bytes, and its pieces and planned seams."""
    try:
        data = Path(file.path).read_bytes()
    except OSError:
        data = b""
    sewn = json.dumps([sorted(file.pieces), sorted(file.planned)]).encode() if file.pieces else b""
    return {name: sha256(of).hexdigest()[:16] if of else "" for name, of in (("bytes", data), ("seams", sewn))}


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
        patterns = {
            name: {"bytes": str(kept["bytes"]), "seams": str(kept["seams"])}
            for name, kept in value.get("patterns", {}).items()
        }
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        raise SeamcheckError("this is no record of known findings", path=str(path), remedy=remedy) from None
    return Known(path, files, patterns)


def _kinds(codes: Mapping[str, Any]) -> Iterable[tuple[tuple[str, str], tuple[Severity, ...]]]:
    for code, things in codes.items():
        for thing, severities in things.items():
            yield (code, thing), tuple(sorted((Severity(one) for one in severities), key=lambda one: one.rank))
