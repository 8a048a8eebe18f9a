"""Seam plans as tests: `*.seams.toml` is collected by pytest, and each seam is a test that fails in a sewist's words.

A plan is judged with every pattern of its name beside it. For each of them there is

    judged                       whether all of it could be judged
    SEAM[SIZE-FAMILY]            one seam in one size by one family of checks
    pieces[SIZE-FAMILY]          in one size all that a family says of no single seam

`-k outseam` picks tests by seam, piece, size or family, `-m seamcheck` all of them, `-m "seam(name='outseam')"` one seam. The
setting `seamcheck_fail_on` says from which severity on a finding fails a test. With xdist, `--dist loadgroup` lets each pattern
be judged by one worker; `-p no:seamcheck` leaves it all out. The fixture `seamcheck` reads, checks and measures patterns in tests written in Python.

Nothing but pytest is imported until a plan is collected: pytest loads this module whenever it starts.

Tests of a plan are known from plan and sizes alone, and the pattern is judged when the first of them runs, so that
collecting is cheap and a worker of xdist judges only what it is given. A finding is told by the seam that it names
or whose edge it names, else by the test of all pieces: each by exactly one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from seamcheck.checks.base import Check
    from seamcheck.engine.read import Request
    from seamcheck.engine.result import FileResult, Finding, Report
    from seamcheck.pattern.model import Pattern
    from seamcheck.pattern.plan import Plan, SeamPlan

SUFFIX = ".seams.toml"
SEVERITIES = ("error", "warning", "note")
PIECES = "pieces"
# Families whose findings are about one seam or about edges in it; what others say is told for all pieces together.
PLUGIN_FILE = "seamcheck plugin file"
SEAM_FAMILIES = ("edges", "junctions", "seams")


def pytest_addoption(parser: pytest.Parser) -> None:
    """Add the one setting."""
    parser.addini(
        "seamcheck_fail_on", "the least finding that fails a test: error, warning or note", default="warning"
    )


def pytest_configure(config: pytest.Config) -> None:
    """Make the marks known."""
    config.addinivalue_line("markers", "seamcheck: a test that a seam plan gives")
    config.addinivalue_line("markers", "seam(name, size, family): a seam, a size and a family of checks")


def pytest_collect_file(file_path: Path, parent: pytest.Collector) -> pytest.Collector | None:
    """Collect seam plans."""
    if not file_path.name.endswith(SUFFIX):
        return None
    plan: PlanFile = PlanFile.from_parent(parent, path=file_path)
    return plan


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say of which plugin files code was run, as every run of seamcheck does."""
    reports = (one for these in terminalreporter.stats.values() for one in these)
    told = [value for one in reports for key, value in getattr(one, "user_properties", ()) if key == PLUGIN_FILE]
    for file in dict.fromkeys(map(str, told)):
        terminalreporter.write_line(f"seamcheck: the plugin file {file} was run")


def fail_on(config: pytest.Config) -> str:
    """The severity from which on a finding fails a test; UsageError for a word that is none."""
    word = str(config.getini("seamcheck_fail_on"))
    if word not in SEVERITIES:
        raise pytest.UsageError(
            f'seamcheck_fail_on is "{word}"; write {", ".join(SEVERITIES[:-1])} or {SEVERITIES[-1]}'
        )
    return word


def grave(findings: Sequence[Finding], least: str) -> list[Finding]:
    """Those at or above a severity that nobody has accepted."""
    return [one for one in findings if one.counts and one.severity.rank <= SEVERITIES.index(least)]


def describe(findings: Sequence[Finding]) -> str:
    """Findings in the words of a sewist, a paragraph each."""
    from seamcheck.engine.report_format import RenderOptions
    from seamcheck.report.layout import wrap

    options = RenderOptions(width=100)
    parts = []
    for one in findings:
        size = f", size {one.size}" if one.size else ""
        head = f"{one.severity.value.capitalize()}{size}: {one.message} [{one.check}/{one.code}]"
        parts.append(wrap(head, options, hanging="  "))
        if one.why:
            parts[-1] += "\n" + wrap(f"Why: {one.why}", options, indent="  ", hanging="      ")
        if one.advice:
            parts[-1] += "\n" + wrap(f"Do: {one.advice}", options, indent="  ", hanging="      ")
    return "\n\n".join(parts)


class UntrueError(AssertionError):
    """A pattern does not true, or could not be judged; the text says it to a sewist."""


class PlanFile(pytest.File):
    """A seam plan with the patterns of its name beside it."""

    def collect(self) -> Iterator[pytest.Item | pytest.Collector]:
        """One node for each pattern; a plan without any is a test that fails."""
        from seamcheck.engine.workspace import Shops
        from seamcheck.errors import Failure

        fail_on(self.config)
        beside = Shops().beside(self.path)
        for path in beside:
            pattern: PatternNode = PatternNode.from_parent(self, name=path.name, path=path)
            yield pattern
        if not beside:
            alone = Failure(
                "no pattern of this name lies beside the plan; put it there, or move the plan away", str(self.path)
            )
            item: JudgedItem = JudgedItem.from_parent(self, name="judged", failures=lambda: (alone,))
            yield item


class PatternNode(pytest.Collector):
    """One pattern: read when it is collected, judged when the first of its tests runs."""

    def collect(self) -> Iterator[pytest.Item]:
        """Give the tests of the pattern; one that cannot be read has only one, which fails."""
        yield self._item(JudgedItem, "judged", failures=lambda: self.result.failures)
        if self._read is None:
            return
        pattern, plan, checks = self._read
        families = sorted({check.family for check in checks})
        for seam in plan.seams if plan else ():
            for size in pattern.sizes:
                for family in families:
                    if family in SEAM_FAMILIES:
                        yield self._item(SeamItem, seam.name, seam=seam, size=size, family=family)
        for size in pattern.sizes:
            for family in families:
                yield self._item(SeamItem, PIECES, seam=None, size=size, family=family)

    def _item(self, kind: type[Any], name: str, **facts: Any) -> pytest.Item:
        if "family" in facts:
            name += f"[{'-'.join(part for part in (facts['size'], facts['family'].replace(' ', '-')) if part)}]"
        item: pytest.Item = kind.from_parent(self, name=name, **facts)
        item.add_marker(pytest.mark.seamcheck)
        if self.config.pluginmanager.hasplugin("xdist"):
            item.add_marker(pytest.mark.xdist_group(str(self.path)))
        return item

    @cached_property
    def _read(self) -> tuple[Pattern, Plan | None, tuple[Check, ...]] | None:
        from seamcheck.engine.read import read
        from seamcheck.engine.workspace import Shops
        from seamcheck.errors import SeamcheckError

        try:
            settings, registry = Shops().tolerant(str(self.path))
            pattern, plan = read(str(self.path), self._asked, registry, settings)
        except SeamcheckError:
            return None  # judging it says why
        return pattern, plan, registry.checks

    @property
    def _asked(self) -> Request:
        from seamcheck.engine.read import Request

        plan = getattr(self.parent, "path", None)
        return Request(plan=plan)

    @cached_property
    def result(self) -> FileResult:
        """What judging the pattern gave: judged once, for all its tests."""
        from seamcheck.engine.workspace import Shops
        from seamcheck.truing.recipes import with_recipes

        return Shops(recipes=with_recipes).judge(str(self.path), self._asked)

    @cached_property
    def seams_of_edges(self) -> dict[str, str]:
        """Of every edge the first seam it is in."""
        found: dict[str, str] = {}
        for seam in self._read[1].seams if self._read and self._read[1] else ():
            for use in (*seam.sides[0], *seam.sides[1]):
                found.setdefault(use.name, seam.name)
        return found

    def seam_of(self, finding: Finding, family: str) -> str:
        """The seam that a finding is told for, or "" where that is all pieces together."""
        if family not in SEAM_FAMILIES:
            return ""
        if finding.seam in self.seams_of_edges.values():
            return str(finding.seam)
        return next((self.seams_of_edges[edge] for edge in finding.edges if edge in self.seams_of_edges), "")

    def checks_of(self, family: str) -> set[str]:
        """The names of the checks of a family."""
        return {check.name for check in (self._read[2] if self._read else ()) if check.family == family}


class _Item(pytest.Item):
    def repr_failure(self, excinfo: pytest.ExceptionInfo[BaseException], style: Any = None) -> Any:
        """Tell a finding as it is told to a sewist, without a line of Python."""
        if isinstance(excinfo.value, UntrueError):
            return str(excinfo.value)
        return super().repr_failure(excinfo, style)


class JudgedItem(_Item):
    """Whether all of a pattern could be judged."""

    def __init__(self, *, failures: Callable[[], tuple[str, ...]], **arguments: Any) -> None:
        """Keep what asks for the sentences about what could not be judged."""
        super().__init__(**arguments)
        self.failures = failures

    def runtest(self) -> None:
        """Fail with the sentences about what could not be judged."""
        if isinstance(self.parent, PatternNode):
            # A property of the report comes along from a worker of xdist, too, and into JUnit.
            self.user_properties += [(PLUGIN_FILE, file) for file in self.parent.result.plugin_files]
        if failures := self.failures():
            raise UntrueError("\n".join(failures))

    def reportinfo(self) -> tuple[Path, int | None, str]:
        """Where the test comes from."""
        return self.path, None, self.name


class SeamItem(_Item):
    """A seam, or all pieces, in one size by one family of checks."""

    parent: PatternNode

    def __init__(self, *, seam: SeamPlan | None, size: str, family: str, **arguments: Any) -> None:
        """Make the test answer to the names of its seam, pieces, size and family."""
        super().__init__(**arguments)
        self.seam, self.size, self.family = seam, size, family
        uses = (*seam.sides[0], *seam.sides[1]) if seam else ()
        self.extra_keyword_matches.update([self._seam, size, family, *(use.piece for use in uses)])
        self.add_marker(pytest.mark.seam(name=self._seam, size=size, family=family))

    @property
    def _seam(self) -> str:
        return self.seam.name if self.seam else PIECES

    def runtest(self) -> None:
        """Fail with what was found here; skip where no check had anything to judge by."""
        result = self.parent.result
        checks = self.parent.checks_of(self.family)
        own = [
            finding
            for finding in result.findings
            if finding.check in checks
            and finding.size == self.size
            and self.parent.seam_of(finding, self.family) == (self.seam.name if self.seam else "")
        ]
        if grave_ones := grave(own, fail_on(self.config)):
            raise UntrueError(describe(grave_ones))
        if not result.sizes:
            pytest.skip("the pattern could not be judged")
        skipped = {
            one.check: one.message
            for one in result.skipped
            if one.size == self.size and one.seam == (self.seam.name if self.seam else None) and not one.piece
        }
        if checks <= skipped.keys():
            pytest.skip("; ".join(dict.fromkeys(skipped[name] for name in sorted(checks))))

    def reportinfo(self) -> tuple[Path, int | None, str]:
        """Where the seam stands in the plan."""
        line = self.seam.place.line if self.seam else None
        plan = getattr(self.parent.parent, "path", self.path)
        return plan, None if line is None else line - 1, self.name


class Patterns:
    """What the fixture `seamcheck` gives: patterns by their path, from the folder of the test on."""

    def __init__(self, folder: Path, least: str, read: dict[tuple[str, Path], Any]) -> None:
        """Keep what was read, for all tests of the session."""
        self._folder = folder
        self._least = least
        self._known = read

    def read(self, path: str | Path) -> Pattern:
        """Read a pattern; SeamcheckError, one sentence, when it cannot be."""
        from seamcheck.engine.read import Request, read
        from seamcheck.engine.workspace import Shops

        where = (self._folder / path).resolve()
        if ("read", where) not in self._known:
            settings, registry = Shops().of(str(where))
            self._known["read", where] = read(str(where), Request(), registry, settings)
        pattern: Pattern = self._known["read", where][0]
        return pattern

    def check(self, path: str | Path) -> Report:
        """Judge a pattern; what could not be judged is in the report's files."""
        from seamcheck.engine.read import Request
        from seamcheck.engine.result import Report
        from seamcheck.engine.workspace import Shops
        from seamcheck.truing.recipes import with_recipes

        where = (self._folder / path).resolve()
        if ("check", where) not in self._known:
            self._known["check", where] = Report(files=(Shops(recipes=with_recipes).judge(str(where), Request()),))
        report: Report = self._known["check", where]
        return report

    def measure(self, path: str | Path, expression: str, size: str | None = None) -> float:
        """What an expression of the rule language comes to, in mm, degrees or as a plain number.

        `size` may be left out where the pattern has one. ValueError for an expression or a size that means nothing.
        """
        from seamcheck.checks.house_rules import measure
        from seamcheck.config.rule_language import parse_expression
        from seamcheck.pattern.seam_graph import build_graph

        pattern = self.read(path)
        if size is None and len(pattern.sizes) == 1:
            size = pattern.sizes[0]
        if size not in pattern.sizes:
            raise ValueError(f"{path} has the sizes {', '.join(pattern.sizes)}; say which one is meant")
        plan: Plan | None = self._known["read", (self._folder / path).resolve()][1]
        pieces = {piece.name: piece for piece in pattern.in_size(size or "")}
        return measure(parse_expression(expression), pieces, build_graph(pieces, plan))

    def assert_trues(self, path: str | Path, fail_on: str | None = None) -> None:
        """Fail the test with what does not true, or could not be judged."""
        __tracebackhide__ = True
        report = self.check(path)
        failures = [failure for file in report.files for failure in file.failures]
        findings = grave(report.findings, fail_on or self._least)
        if failures or findings:
            raise UntrueError("\n\n".join(part for part in ("\n".join(failures), describe(findings)) if part))


_READ = pytest.StashKey[dict[tuple[str, Path], Any]]()


@pytest.fixture
def seamcheck(request: pytest.FixtureRequest) -> Patterns:
    """Patterns to read, check and measure in a test; paths are from the folder of the test on."""
    known = request.config.stash.setdefault(_READ, {})
    return Patterns(request.path.parent, fail_on(request.config), known)
