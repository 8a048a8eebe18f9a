"""The report as JUnit XML, which build servers show as tests: what was looked at is a case, also where nothing was found.

In every size a seam is a case, a piece is one and a check is one. A finding is told by the case of its seam, else of its
first piece, else of its check, so by exactly one. A check that could judge nothing is skipped; what could not be judged is the error
of a case of its own. Findings that do not fail the run stand in the output of their case.

The form is that of the xUnit plugin of Jenkins (junit-10.xsd), which other servers read as well. No times are given: the same
result gives the same bytes.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING
from xml.etree import ElementTree

from seamcheck.engine.report_format import RenderOptions, ReportFormat
from seamcheck.report import telling
from seamcheck.report.layout import in_xml

if TYPE_CHECKING:
    from seamcheck.engine.result import FileResult, Finding, Report, Skipped
    from seamcheck.errors import Failure

# Letters that XML 1.0 cannot hold, escaped or not (section 2.2).


@dataclass(slots=True)
class _Case:
    """A test case: what was found there, and the reasons why it could not be looked at."""

    kind: str
    name: str
    findings: list[Finding] = field(default_factory=list)
    skipped: str = ""
    remarks: list[str] = field(default_factory=list)
    failures: tuple[Failure, ...] = ()


def render(report: Report, options: RenderOptions) -> str:
    """The whole run as one document."""
    root = ElementTree.Element("testsuites", name="seamcheck")
    for file in report.files:
        root.append(_suite(file, report))
    if report.left_aside:
        root.append(_unplanned(report.left_aside))
    for key in ("tests", "failures", "errors"):
        root.set(key, str(sum(int(suite.get(key, "0")) for suite in root)))
    ElementTree.indent(root)
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{ElementTree.tostring(root, encoding="unicode")}\n'


def _suite(file: FileResult, report: Report) -> ElementTree.Element:
    cases = [_case(case, file, report) for case in _cases(file)]
    count = {tag: str(sum(case.find(tag) is not None for case in cases)) for tag in ("failure", "error", "skipped")}
    suite = ElementTree.Element(
        "testsuite",
        name=in_xml(file.path),
        tests=str(len(cases)),
        failures=count["failure"],
        errors=count["error"],
        skipped=count["skipped"],
        file=in_xml(file.path),
    )
    facts = {"pattern": file.pattern, "plan": file.plan or "", "sizes": ", ".join(file.sizes)}
    properties = ElementTree.SubElement(suite, "properties")
    for name, value in facts.items():
        ElementTree.SubElement(properties, "property", name=name, value=in_xml(value))
    suite.extend(cases)
    return suite


def _unplanned(paths: tuple[str, ...]) -> ElementTree.Element:
    """The drawings that were left aside: a skipped case each."""
    count = str(len(paths))
    name = "drawings without a plan"
    suite = ElementTree.Element("testsuite", name=name, tests=count, failures="0", errors="0", skipped=count)
    for path in paths:
        case = ElementTree.SubElement(suite, "testcase", name=in_xml(path), classname=name)
        _add(case, "skipped", "", message="no plan of its name lies beside it")
    return suite


def _cases(file: FileResult) -> Iterator[_Case]:
    yield _Case("file", "judged", failures=file.failures)
    if file.looked_at_in_part:
        yield _Case("file", "every edge looked at", skipped=telling.coverage(file))
    if file.is_lax:
        yield _Case("file", "judged as strictly as is usual", skipped="; ".join(telling.laxer(file)))
    cases: dict[tuple[str, str, str], _Case] = {}
    for size in file.sizes:
        named = f", size {size}" if size and len(file.sizes) > 1 else ""
        for kind, names in (
            ("seam", dict.fromkeys(seam.name for seam in file.seams if seam.size == size)),
            ("piece", dict.fromkeys(file.pieces)),
            ("check", dict.fromkeys(file.checks)),
        ):
            for name in names:
                cases[kind, name, size] = _Case(f"{kind}s", f"{kind} {name}{named}")
    for finding in file.findings:
        key = next((key for key in _keys_of(finding) if key in cases), None)
        if key is None:  # a check of a size or a name that nothing else speaks of
            key = ("check", finding.check, finding.size)
            cases[key] = _Case("checks", f"check {finding.check}, size {finding.size}")
        cases[key].findings.append(finding)
    for one in file.skipped:
        _skip(one, cases)
    yield from cases.values()


def _keys_of(finding: Finding) -> Iterator[tuple[str, str, str]]:
    if finding.seam:
        yield "seam", finding.seam, finding.size
    for piece in finding.pieces:
        yield "piece", piece, finding.size
    yield "check", finding.check, finding.size


def _skip(one: Skipped, cases: dict[tuple[str, str, str], _Case]) -> None:
    """What could not be judged of one seam or piece is a remark of its case; a check that judged nothing is skipped."""
    if one.seam or one.piece or one.edge:
        thing = ("seam", one.seam) if one.seam else ("piece", one.piece or (one.edge or "").rpartition(".")[0])
        case = cases.get((*thing, one.size)) or cases.get(("check", one.check, one.size))
        where = f" ({one.edge})" if one.edge else ""
        if case is not None:
            case.remarks.append(f"Skipped: {one.check}{where}: {one.message}")
    elif (case := cases.get(("check", one.check, one.size))) is not None:
        case.skipped = f"{case.skipped}; {one.message}" if case.skipped else one.message


def _case(case: _Case, file: FileResult, report: Report) -> ElementTree.Element:
    # A reader takes what stands before the last dot for a package.
    element = ElementTree.Element(
        "testcase", name=in_xml(case.name), classname=f"{in_xml(file.path).replace('.', '_')}.{case.kind}"
    )
    grave = [finding for finding in case.findings if report.fails(finding)]
    others = [finding for finding in case.findings if not report.fails(finding)]
    if case.failures:
        sentences = [sentence.where_named(file.path) for sentence in case.failures]
        _add(element, "error", "\n".join(sentences), message=sentences[0], type="not-judged")
    elif grave:
        worst = grave[0]
        text = "\n\n".join(_described(finding) for finding in grave)
        _add(element, "failure", text, message=worst.message, type=f"{worst.check}/{worst.code}")
    elif case.skipped and not others:
        _add(element, "skipped", "", message=case.skipped)
    remarks = [*map(_described, others), *dict.fromkeys(case.remarks)]
    if remarks:
        _add(element, "system-out", "\n\n".join(remarks))
    return element


def _described(finding: Finding) -> str:
    head = f"{finding.severity.value.capitalize()}: {telling.ended(finding.message)} [{telling.rule(finding)}]"
    if finding.place is not None:
        column = f", column {finding.place.column}" if finding.place.column else ""
        head += f" (in the file: line {finding.place.line}{column})"
    lines = [head]
    if finding.why:
        lines.append(f"Why: {finding.why}")
    if finding.advice:
        lines.append(f"Do: {telling.ended(finding.advice)}")
    if finding.accepted is not None:
        lines.append(f"Accepted, because: {telling.ended(finding.accepted)}")
    if finding.known:
        lines.append("It is known: the record has it.")
    return "\n".join(lines)


def _add(element: ElementTree.Element, tag: str, text: str, **attributes: str) -> None:
    child = ElementTree.SubElement(element, tag, {key: in_xml(value) for key, value in attributes.items()})
    child.text = in_xml(text) or None


REPORT = ReportFormat(
    "junit",
    "JUnit XML for build servers: seams, pieces and checks as test cases",
    render,
    details="In every size each seam, piece and check is a test case, skipped where it could judge nothing. What could not be "
    "judged is an error. Where settings or plan are laxer than is usual a case says so, and is skipped.",
)
