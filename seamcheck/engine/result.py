"""What a run found: findings, skipped checks and what was walked, per file. Reports are made from this alone."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING

from seamcheck.amounts import Fact, Listed, Name, Phrase, count, opened, phrase
from seamcheck.checks.base import DEFAULT, OWN, ROUNDED, Severity
from seamcheck.pattern.subject import PATTERN, Subject

if TYPE_CHECKING:
    from seamcheck.errors import Failure
    from seamcheck.geometry.curve import Curve
    from seamcheck.pattern.drawing import Note, Place
    from seamcheck.pattern.junctions import Jog, Junction
    from seamcheck.pattern.model import Piece
    from seamcheck.pattern.plan import Plan
    from seamcheck.pattern.walk import Walk


@dataclass(frozen=True, slots=True)
class OtherWay:
    """What may be done in the stead of a step: its letter among the alternatives of `true`, the pieces it draws anew, the words.

    `followers` are those of the pieces that only go along with the others.
    """

    letter: str
    pieces: tuple[str, ...]
    what: Phrase
    followers: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Recipe:
    """How a cause is put right, in steps that were tried on the pattern in this order and left nothing worse.

    `number` is that of the first of them among the proposals of `true`, from 1, and `pieces` are those that it draws anew. `others` may be done in the stead of that first
    step. `undo` takes the alteration itself back, where that is known. `lines` are those that the steps draw anew, each with its piece, where
    the result keeps its geometry.
    """

    number: int
    pieces: tuple[str, ...]
    steps: tuple[Phrase, ...]
    others: tuple[OtherWay, ...] = ()
    undo: Phrase | None = None
    lines: tuple[tuple[str, Curve], ...] = field(default=(), compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """Something that no longer trues. Lengths in mm, angles in degrees; `at` in the file's axes.

    `fault` says what is wrong and `remedy` what to do; both are phrases, whose facts stay facts until a report writes them.
    `uncertainty` is by how much `measured` may be off, and every band wider. `clauses` are those of the code that `fault` holds beyond its message. `subject` is the thing that it is about. `place` is where the file draws what it is about, None where it is about no one thing that is drawn.
    A `known` one is in the record that the run is held against, no more and no less grave. `cause` names what it is a sign of, "" where it stands by itself; the head of a cause holds its `recipe`.
    """

    check: str
    code: str
    severity: Severity
    size: str
    fault: Phrase
    remedy: Phrase
    clauses: tuple[str, ...] = ()
    seam: str | None = None
    pieces: tuple[str, ...] = ()
    edges: tuple[str, ...] = ()
    measured: float | None = None
    unit: str | None = None
    allowed: tuple[float, float] | None = None
    tolerance: float | None = None
    uncertainty: float = 0.0
    at: complex | None = None
    accepted: str | None = None
    known: bool = False
    plugin: str = ""
    place: Place | None = None
    subject: Subject = PATTERN
    cause: str = ""
    recipe: Recipe | None = None

    @property
    def counts(self) -> bool:
        """Whether it is to be put right: nobody accepted it, and no record knows it."""
        return self.accepted is None and not self.known

    @property
    def facts(self) -> Mapping[str, Fact]:
        """What was measured and seen, by name, exactly as the check gave it."""
        return dict(self.fault.facts)

    @property
    def message(self) -> str:
        """What is wrong, in words."""
        return str(opened(self.fault))

    @property
    def probably(self) -> Phrase | None:
        """What happened, as a sentence without its full stop; None where nothing tells."""
        said = self.facts.get("probably")
        return said if isinstance(said, Phrase) else None

    @property
    def why(self) -> str:
        """What happened, in words; "" where nothing tells."""
        return "" if self.probably is None else f"{self.probably}."

    @property
    def advice(self) -> str:
        """What to do, in words."""
        return str(self.remedy)

    def __repr__(self) -> str:
        """Return one line."""
        where = self.seam or ", ".join(self.edges or self.pieces)
        told = ", ".join(part for part in (self.severity.value, where, f"size {self.size}") if part)
        return f"<Finding {self.check}/{self.code}: {told}>"


@dataclass(frozen=True, slots=True, kw_only=True)
class InForce:
    """A tolerance and a severity that a check went by, and where each comes from.

    It holds for the `codes` of the check, or at the `places` that have a tolerance of their own. `severity` is "bands"
    where the deviation decides. Both sources are "default" or the file that says so; `tolerance` is None where nothing is
    measured. `usual` and `usual_severity` are what holds by default.
    """

    check: str
    codes: tuple[str, ...] = ()
    tolerance: float | None
    unit: str | None
    tolerance_from: str
    severity: str
    severity_from: str
    places: tuple[str, ...] = ()
    usual: float | None = None
    usual_severity: str = "bands"

    @property
    def milder(self) -> bool:
        """Whether a file weighs what is found less than it is weighed by default, or turns it off."""
        grades = ["off", "note", "warning", "bands", "error"]
        return self.severity_from != DEFAULT and grades.index(self.severity) < grades.index(self.usual_severity)

    @property
    def widened(self) -> bool:
        """Whether a file allows more than is allowed by default."""
        stated = self.tolerance_from not in (DEFAULT, OWN, ROUNDED)
        return stated and self.tolerance is not None and self.usual is not None and self.tolerance > self.usual


@dataclass(frozen=True, slots=True, kw_only=True)
class Skipped:
    """A check that had nothing to judge by: `reason` is the code of why, `why` the words, which hold the facts.

    It is about a `seam`, a `piece`, an `edge` of a piece or the `corners` of a junction, or about all that the check looks at.
    """

    check: str
    size: str
    why: Phrase
    reason: str = ""
    seam: str | None = None
    piece: str | None = None
    edge: str | None = None
    corners: tuple[str, ...] = ()

    @property
    def words(self) -> Phrase:
        """Why, behind the corners that it is about."""
        if not self.corners:
            return self.why
        return phrase("{corners}: {why}", corners=Listed(tuple(map(Name, self.corners))), why=self.why)

    @property
    def message(self) -> str:
        """The same as text."""
        return str(self.words)


@dataclass(frozen=True, slots=True, kw_only=True)
class WalkedSide:
    """One side of a seam: its edges, "-" before those walked backwards, and its length in mm."""

    edges: tuple[str, ...]
    length: float


@dataclass(frozen=True, slots=True, kw_only=True)
class WalkedSeam:
    """A seam as walked in one size; `difference` is first minus second."""

    name: str
    size: str
    first: WalkedSide
    second: WalkedSide
    difference: float
    allowed: tuple[float, float]
    inferred: bool = False
    confidence: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedJunction:
    """Corners that come to lie on one point, and what their angles add to, in degrees."""

    corners: tuple[str, ...]
    size: str
    angle: float
    expected: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FileGeometry:
    """What pictures of a result are drawn from: all that was judged, with its curves, in mm in the file's own axes.

    `walks` stand in the order of the result's `seams` and `junctions` in that of its `junctions`; `jogs` are
    each with their size. `plan` is the one that was judged by, also where it was inferred. `earlier` has the outlines of an
    earlier file, by piece and size, laid on the pieces that changed since.
    """

    pieces: tuple[Piece, ...]
    walks: tuple[Walk, ...]
    junctions: tuple[Junction, ...]
    jogs: tuple[tuple[str, Jog], ...]
    plan: Plan | None
    earlier: Mapping[tuple[str, str], Curve] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class FileResult:
    """All that was found in one file. `failures` tell what could not be judged; `geometry` is kept where it is asked for.

    `planned` are the seams that were to be walked, `open_edges` the edges that are in no seam, not unsewn and no fold:
    nobody looked at what they are sewn to. `recorded_as` is the name that a record of known findings has for a file that was renamed.
    `plugin_files` are the plain files that were run as plugins for it.
    """

    path: str
    pattern: str = ""
    units: str = ""
    plan: str | None = None
    sizes: tuple[str, ...] = ()
    pieces: tuple[str, ...] = ()
    checks: tuple[str, ...] = ()
    in_force: tuple[InForce, ...] = ()
    notes: tuple[Note, ...] = ()
    planned: tuple[str, ...] = ()
    seams: tuple[WalkedSeam, ...] = ()
    open_edges: tuple[str, ...] = ()
    junctions: tuple[JudgedJunction, ...] = ()
    skipped: tuple[Skipped, ...] = ()
    findings: tuple[Finding, ...] = ()
    failures: tuple[Failure, ...] = ()
    recorded_as: str | None = None
    plugin_files: tuple[str, ...] = ()
    geometry: FileGeometry | None = field(default=None, compare=False, repr=False)

    def __repr__(self) -> str:
        """Return one line."""
        failed = ", not judged whole" if self.failures else ""
        seams = len({seam.name for seam in self.seams})
        return f"<FileResult {self.path}: {count(len(self.findings), 'finding')}, {count(seams, 'seam')}{failed}>"

    @property
    def judged_seams(self) -> tuple[str, ...]:
        """The seams that were walked in every size that was judged."""
        walked = {(seam.name, seam.size) for seam in self.seams}
        names = dict.fromkeys(seam.name for seam in self.seams)
        return tuple(name for name in names if all((name, size) in walked for size in self.sizes))

    @property
    def looked_at_in_part(self) -> bool:
        """Whether edges were left out of sight, since no plan says what they are sewn to."""
        return self.plan is None and bool(self.open_edges)

    @property
    def is_lax(self) -> bool:
        """Whether settings or a plan weigh something less, or allow more, than is usual, or accept a finding."""
        accepted = any(finding.accepted is not None for finding in self.findings)
        return accepted or any(row.milder or row.widened for row in self.in_force)

    def counted(self) -> FileResult:
        """What a run counts of it once all of it is told: whether it was judged, which codes were found, how much was skipped."""
        return FileResult(
            path=self.path,
            plan=self.plan,
            in_force=tuple(row for row in self.in_force if row.milder or row.widened),
            open_edges=self.open_edges[:1],
            skipped=tuple(_counted_skip(one.check) for one in self.skipped),
            findings=tuple(
                _counted_finding(one.check, one.code, one.severity, one.accepted is not None, one.known)
                for one in self.findings
            ),
            failures=self.failures,
            plugin_files=self.plugin_files,
        )

    def junction_of(self, finding: Finding) -> int | None:
        """The junction that a finding is about, or that lies at the corner it is about, by its place in `junctions`."""
        subject = finding.subject
        here = [index for index, junction in enumerate(self.junctions) if junction.size == finding.size]
        if subject.kind == "junction":
            return here[subject.number] if subject.number is not None and subject.number < len(here) else None
        if subject.kind in ("corner", "mouth"):
            return next((index for index in here if {*subject.names} <= {*self.junctions[index].corners}), None)
        return None


@lru_cache(maxsize=4096)
def _counted_finding(check: str, code: str, severity: Severity, accepted: bool, known: bool) -> Finding:
    """A finding of which nothing is left but what is counted: one stands for all that are alike."""
    nothing = phrase("")
    reason = "" if accepted else None
    return Finding(
        check=check,
        code=code,
        severity=severity,
        size="",
        fault=nothing,
        remedy=nothing,
        accepted=reason,
        known=known,
    )


@lru_cache(maxsize=4096)
def _counted_skip(check: str) -> Skipped:
    return Skipped(check=check, size="", why=phrase(""))


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckCode:
    """One way in which a check can fail, and all that is said about it: what a reader needs who has only the report.

    `holds` is the check's meaning, `meaning` the code's. `severity` is None where the amount decides.
    """

    check: str
    code: str
    family: str
    holds: str
    meaning: str
    why: str
    remedy: str
    source: str
    severity: Severity | None
    tolerance: float | None
    unit: str | None
    plugin: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """The result of a run over files, in the order they were named.

    `rules` are those that could have found something; `fail_on` is the least finding that the run is not good with.
    `left_aside` are the drawings in its folders that no plan says anything of: they were not judged. With `partial` it may be good although edges were not looked at for want of a plan.
    """

    files: tuple[FileResult, ...]
    rules: tuple[CheckCode, ...] = ()
    fail_on: Severity = Severity.WARNING
    partial: bool = False
    left_aside: tuple[str, ...] = ()

    def __repr__(self) -> str:
        """Return one line."""
        failed = sum(bool(file.failures) for file in self.files)
        told = f", {failed} not judged whole" if failed else ""
        return f"<Report: {count(len(self.files), 'file')}, {count(len(self.findings), 'finding')}{told}>"

    @property
    def findings(self) -> tuple[Finding, ...]:
        """All findings that are to be put right: those that nobody accepted and no record knows."""
        return tuple(f for file in self.files for f in file.findings if f.counts)

    @property
    def summary(self) -> Mapping[str, int]:
        """Counts of findings by severity, of accepted and known ones, of drawings left aside, and of skipped checks."""
        counts = {str(severity): 0 for severity in Severity}
        for finding in self.findings:
            counts[finding.severity] += 1
        every = [finding for file in self.files for finding in file.findings]
        counts["accepted"] = sum(finding.accepted is not None for finding in every)
        counts["known"] = sum(finding.known for finding in every)
        counts["without_plan"] = len(self.left_aside)
        counts["skipped"] = sum(len(file.skipped) for file in self.files)
        return counts

    @property
    def failed(self) -> bool:
        """Whether something could not be judged, or was not looked at."""
        return any(file.failures or (file.looked_at_in_part and not self.partial) for file in self.files)

    def fails(self, finding: Finding) -> bool:
        """Whether the run is not good with this finding."""
        return finding.counts and finding.severity.rank <= self.fail_on.rank

    @property
    def exit_code(self) -> int:
        """2 where something could not be judged, else 1 where something is at or above `fail_on`, else 0."""
        return 2 if self.failed else int(any(map(self.fails, self.findings)))
