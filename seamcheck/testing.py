"""What our own tests and those of a plugin stand on: a good pattern, one named fault, exactly one finding.

    from seamcheck.testing import FAULTS, assert_findings, check_draft, good_draft

    def test_a_good_pattern_has_nothing_to_put_right():
        assert_findings(check_draft(good_draft()))

    def test_a_short_side_is_found():
        draft = FAULTS["short-side"].change(good_draft())
        assert_findings(check_draft(draft, [OUR_CHECK]), "our-check/short seam=side piece=back")

The good pattern is two panels, `front` and `back`, some 200 by 400 mm, sewn together at their curved `side`. A fault of
your own is a function that makes one draft of another: `draft.with_panel("back", grain=None)`.
"""

from __future__ import annotations

import shlex
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any
from xml.sax.saxutils import escape, quoteattr

from seamcheck.config.plan_file import format_plan
from seamcheck.config.settings import Settings, parse_settings
from seamcheck.errors import SeamcheckError
from seamcheck.geometry.curve import Affine, Curve
from seamcheck.pattern.plan import DartPlan, EdgeUse, PiecePlan, Plan, SeamPlan
from seamcheck.spelling import by_name

if TYPE_CHECKING:
    from seamcheck.checks.base import Check
    from seamcheck.engine.report_format import ReportFormat
    from seamcheck.engine.result import FileResult, Finding
    from seamcheck.pattern.model import Pattern
    from seamcheck.reading.base import Importer

# All that a plugin's tests need, from one place.
__all__ = [
    "FAULTS",
    "Affine",
    "Curve",
    "DartPlan",
    "Draft",
    "EdgeUse",
    "Fault",
    "Panel",
    "PanelEdge",
    "PanelNotch",
    "PiecePlan",
    "Plan",
    "SeamPlan",
    "SeamcheckError",
    "Settings",
    "assert_findings",
    "check_draft",
    "good_draft",
    "judge_pattern",
    "read_drawing",
    "render_report",
    "settings",
]

TICK = 5.0  # mm: how far a notch is drawn into the piece, and how far the ticks of a double one stand apart


@dataclass(frozen=True, slots=True)
class PanelEdge:
    """One edge of a panel: its name, the name of the corner that it starts from, and its line in mm."""

    name: str
    start: str
    line: Curve


@dataclass(frozen=True, slots=True)
class PanelNotch:
    """A notch: its edge, its distance in mm from the start of the edge's line, and how many ticks it has."""

    edge: str
    station: float
    count: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """One piece as it is drawn: edges follow each other clockwise as seen, in mm, x right and y down."""

    name: str
    edges: tuple[PanelEdge, ...]
    notches: tuple[PanelNotch, ...] = ()
    grain: tuple[complex, complex] | None = None
    texts: tuple[str, ...] = ()
    closed: bool = True

    def edge(self, name: str) -> PanelEdge:
        """The edge of that name; UnknownNameError, a KeyError that names the nearest, when the panel has none."""
        return by_name(self.edges, name, f"panel {self.name}", "edge")

    def with_lines(self, **lines: Curve) -> Panel:
        """The panel with other lines for some edges, which must still follow each other."""
        for name in sorted(lines):
            self.edge(name)
        return replace(self, edges=tuple(replace(edge, line=lines.get(edge.name, edge.line)) for edge in self.edges))


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """A drawn pattern and its plan, of which any file or pattern can be made."""

    name: str
    panels: tuple[Panel, ...]
    plan: Plan

    def panel(self, name: str) -> Panel:
        """The panel of that name; UnknownNameError, a KeyError that names the nearest, when there is none."""
        return by_name(self.panels, name, "the draft", "panel")

    def with_panel(self, name: str, **changes: Any) -> Draft:
        """The draft with something else about one panel; the plan stays as it is."""
        changed = replace(self.panel(name), **changes)
        return replace(self, panels=tuple(changed if panel.name == name else panel for panel in self.panels))

    def with_lines(self, name: str, **lines: Curve) -> Draft:
        """The draft with other lines for some edges of one panel; the plan stays as it is."""
        return self.with_panel(name, edges=self.panel(name).with_lines(**lines).edges)

    def svg(self) -> str:
        """The drawing as an SVG file in mm."""
        groups = "\n".join(_group(panel) for panel in self.panels)
        return (
            '<svg xmlns="http://www.w3.org/2000/svg" xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape" '
            'width="600mm" height="500mm" viewBox="0 0 600 500">\n'
            f"<title>{escape(self.name)}</title>\n"
            f'<g fill="none" stroke="#202020" stroke-width="0.5">\n{groups}\n</g>\n</svg>\n'
        )

    def save(self, folder: Path) -> Path:
        """Write the drawing as SVG with its plan beside it; the path of the drawing."""
        path = folder / f"{self.name}.svg"
        path.write_text(self.svg(), encoding="utf-8")
        path.with_suffix(".seams.toml").write_text(format_plan(self.plan), encoding="utf-8")
        return path

    def pattern(self) -> Pattern:
        """The pattern that is read from the drawing, by the road that every file takes."""
        from seamcheck.reading.svg.reader import IMPORTER

        return read_drawing(self.svg().encode(), IMPORTER, self.plan, f"{self.name}.svg")


def _group(panel: Panel) -> str:
    marks = [f'<path inkscape:label="sew line" d="{_path(panel)}"/>']
    marks += [_line("notch", *tick) for notch in panel.notches for tick in _ticks(panel.edge(notch.edge).line, notch)]
    if panel.grain:
        marks.append(_line("grain", *panel.grain))
    corner = panel.edges[0].line.start
    middle = sum(edge.line.start for edge in panel.edges) / len(panel.edges) if panel.edges else corner
    marks += [
        f'<text x="{_number(middle.real + 10)}" y="{_number(middle.imag + 14 * k)}" font-size="10">{escape(text)}</text>'
        for k, text in enumerate(panel.texts)
    ]
    return f"<g inkscape:label={quoteattr(panel.name)}>\n" + "\n".join(marks) + "\n</g>"


def _path(panel: Panel) -> str:
    parts = [f"M{_point(panel.edges[0].line.start)}"]
    for edge in panel.edges:
        for _, first, second, end in edge.line.segments.tolist():
            parts.append(f"C{_point(first)} {_point(second)} {_point(end)}")
    return " ".join([*parts, "Z"] if panel.closed else parts)


def _ticks(line: Curve, notch: PanelNotch) -> Iterable[tuple[complex, complex]]:
    for k in range(notch.count):
        station = notch.station + TICK * (k - (notch.count - 1) / 2)
        inward = line.tangent(station) * 1j  # clockwise with y down: the piece lies to the right
        yield line.point(station), line.point(station) + TICK * inward


def _line(label: str, start: complex, end: complex) -> str:
    return f'<path inkscape:label="{label}" d="M{_point(start)} L{_point(end)}"/>'


def _point(point: complex) -> str:
    return f"{_number(point.real)},{_number(point.imag)}"


def _number(value: float) -> str:
    return f"{round(value, 9) + 0.0:.9f}".rstrip("0").rstrip(".")


def good_draft() -> Draft:
    """Two panels that sew together: nothing is to be put right, in any check that seamcheck brings."""
    side = Curve.join(
        [
            Curve.cubic(200 + 20j, 200 + 80j, 232 + 110j, 232 + 170j),
            Curve.cubic(232 + 170j, 232 + 220j, 220 + 260j, 220 + 320j),
            Curve.line(220 + 320j, 220 + 420j),
        ]
    )
    front = Panel(
        name="front",
        edges=(
            PanelEdge("waist", "centre-waist", Curve.line(20 + 20j, 200 + 20j)),
            PanelEdge("side", "side-waist", side),
            PanelEdge("hem", "side-hem", Curve.line(220 + 420j, 20 + 420j)),
            PanelEdge("centre", "centre-hem", Curve.line(20 + 420j, 20 + 20j)),
        ),
        notches=(PanelNotch("side", 130.0), PanelNotch("side", 300.0)),
        grain=(120 + 380j, 120 + 60j),
        texts=("Ferryhand", "Front", "Size 40", "Cut 2"),
    )
    back = _mirrored(front, "back", 520)
    plan = Plan(
        name="Ferryhand panels",
        pieces=tuple(_planned(panel) for panel in (front, back)),
        seams=(SeamPlan(name="side", sides=((EdgeUse("front", "side"),), (EdgeUse("back", "side"),))),),
    )
    return Draft(name="ferryhand-panels", panels=(front, back), plan=plan)


def _mirrored(panel: Panel, name: str, sum_of_x: float) -> Panel:
    """The mirror image of a panel: a point at x comes to lie at `sum_of_x` - x."""
    mirror = Affine.from_matrix(-1, 0, 0, 1, sum_of_x, 0)
    following = (*panel.edges[1:], panel.edges[0])
    edges = [
        PanelEdge(edge.name, after.start, edge.line.transformed(mirror).reversed())
        for edge, after in zip(panel.edges, following, strict=True)
    ]
    notches = tuple(
        replace(notch, station=panel.edge(notch.edge).line.length - notch.station) for notch in panel.notches
    )
    grain = None if panel.grain is None else (mirror.apply(panel.grain[0]), mirror.apply(panel.grain[1]))
    texts = tuple(text.replace(panel.name.capitalize(), name.capitalize()) for text in panel.texts)
    return replace(panel, name=name, edges=tuple(reversed(edges)), notches=notches, grain=grain, texts=texts)


def _planned(panel: Panel) -> PiecePlan:
    """A plan that names every corner and edge of a panel, its side downwards, and leaves all but the side unsewn."""
    following = (*panel.edges[1:], panel.edges[0])
    edges = {edge.name: (edge.start, after.start) for edge, after in zip(panel.edges, following, strict=True)}
    edges["side"] = ("side-waist", "side-hem")
    return PiecePlan(
        name=panel.name,
        in_file=panel.name,
        cut="pair",
        unsewn=tuple(name for name in edges if name != "side"),
        corners={edge.start: edge.line.start for edge in panel.edges},
        edges=edges,
    )


@dataclass(frozen=True, slots=True)
class Fault:
    """One way to spoil the good draft: what was done, the doing, and the one finding it must give."""

    meaning: str
    change: Callable[[Draft], Draft]
    finding: str


def _short_side(draft: Draft) -> Draft:
    side, hem, centre = (draft.panel("back").edge(name).line for name in ("side", "hem", "centre"))
    up = -6.35j
    return draft.with_lines(
        "back",
        centre=Curve.line(centre.start, centre.end + up),
        hem=Curve.line(hem.start + up, hem.end + up),
        side=Curve.join([Curve.line(side.start + up, side.point(100.0)), side.between(100.0, side.length)]),
    )


def _slanted_hem(draft: Draft) -> Draft:
    hem, centre = (draft.panel("back").edge(name).line for name in ("hem", "centre"))
    lower = centre.end + 30j
    return draft.with_lines("back", centre=Curve.line(centre.start, lower), hem=Curve.line(lower, hem.end))


def _moved_notch(draft: Draft) -> Draft:
    first, second = draft.panel("back").notches
    return draft.with_panel("back", notches=(first, replace(second, station=second.station - 5.0)))


def _double_notch(draft: Draft) -> Draft:
    first, second = draft.panel("back").notches
    return draft.with_panel("back", notches=(replace(first, count=2), second))


FAULTS: Mapping[str, Fault] = {
    "short-side": Fault(
        "6.35 mm (1/4 in) were folded out of the back above its hem",
        _short_side,
        "seam-length/long seam=side edge=back.side severity=error",
    ),
    "moved-notch": Fault(
        "a notch of the back was moved 5 mm towards the hem",
        _moved_notch,
        "notch-match/station seam=side edge=back.side severity=error",
    ),
    "lost-notch": Fault(
        "a notch of the back was forgotten",
        lambda draft: draft.with_panel("back", notches=draft.panel("back").notches[1:]),
        "notch-match/unmatched seam=side edge=front.side severity=warning",
    ),
    "double-notch": Fault(
        "a single notch of the back was drawn as a double one",
        _double_notch,
        "notch-match/count seam=side severity=warning",
    ),
    "slanted-hem": Fault(
        "the back's hem was let down 30 mm at the centre and not squared at the side",
        _slanted_hem,
        "corner-blend/hollow severity=error",
    ),
    "no-grain": Fault(
        "the front has no grain arrow",
        lambda draft: draft.with_panel("front", grain=None),
        "grain-present/missing piece=front severity=error",
    ),
}


def settings(text: str) -> Settings:
    """The settings of a shop whose `seamcheck.toml` holds this text."""
    return parse_settings(text, Path("seamcheck.toml"))


def check_draft(draft: Draft, checks: Iterable[Check] | None = None, settings: Settings | None = None) -> FileResult:
    """Judge a draft by the given checks, or by all that are installed."""
    from seamcheck.engine import plugins
    from seamcheck.engine.judge import judge

    settings = settings or Settings()
    if checks is None:
        registry = plugins.load(settings, checks_only=True)
        return judge(draft.pattern(), draft.plan, registry.checks, settings, plugin_of=registry.plugin_of)
    return judge(draft.pattern(), draft.plan, tuple(checks), settings)


def judge_pattern(
    pattern: Pattern, plan: Plan | None, checks: Iterable[Check], settings: Settings | None = None
) -> FileResult:
    """Judge a pattern that was made or read in any other way by the given checks."""
    from seamcheck.engine.judge import judge

    return judge(pattern, plan, tuple(checks), settings or Settings())


def read_drawing(data: bytes, importer: Importer, plan: Plan | None = None, name: str = "drawing.svg") -> Pattern:
    """The pattern that an importer reads from the bytes of a file; AssertionError when it does not recognise them."""
    from seamcheck.pieces.build import build_pattern
    from seamcheck.pieces.outline import assemble
    from seamcheck.reading.base import Source

    source = Source(name, data)
    if not importer.recognises(source):
        raise AssertionError(f"the importer {importer.name} does not recognise {name}")
    drawing = importer.read(source)
    return build_pattern(drawing, assemble(drawing), plan)


def render_report(report_format: ReportFormat, *results: FileResult, width: int = 80) -> str:
    """What a report format makes of results, as it is read on a page of so many columns."""
    from seamcheck.engine.report_format import RenderOptions
    from seamcheck.engine.result import Report

    return report_format.render(Report(files=results), RenderOptions(width=width))


def assert_findings(result: FileResult, *expected: str) -> None:
    """Assert that these findings were made, each exactly once, and no other; those that are accepted do not count.

    An expected finding is "check/code", and as many of seam=, piece=, edge=, size= and severity= as matter:
    'seam-length/short seam="left side" edge=back.side'. AssertionError tells what is missing and what was not expected;
    so it does when something could not be judged.
    """
    found = [finding for finding in result.findings if finding.counts]
    wanted = list(expected)
    for text in expected:
        match = next((finding for finding in found if _matches(finding, text)), None)
        if match is not None:
            found.remove(match)
            wanted.remove(text)
    lines = [f"not judged:   {failure}" for failure in result.failures]
    lines += [f"missing:      {text}" for text in wanted]
    lines += [f"not expected: {_described(finding)}" for finding in found]
    if lines:
        raise AssertionError("\n".join([f"{result.path}: the findings are not as expected", *lines]))


def _matches(finding: Finding, text: str) -> bool:
    head, *conditions = shlex.split(text)
    fields: Mapping[str, Sequence[str | None]] = {
        "seam": [finding.seam],
        "piece": finding.pieces,
        "edge": finding.edges,
        "size": [finding.size],
        "severity": [finding.severity.value],
    }
    parts = [condition.partition("=") for condition in conditions]
    unknown = [key for key, _, _ in parts if key not in fields]
    if unknown:
        raise ValueError(f"{text!r}: {unknown[0]!r} is none of {', '.join(fields)}")
    return head == f"{finding.check}/{finding.code}" and all(value in fields[key] for key, _, value in parts)


def _described(finding: Finding) -> str:
    parts = [f"{finding.check}/{finding.code}"]
    parts += [f"seam={shlex.quote(finding.seam)}"] if finding.seam else []
    parts += [f"piece={shlex.quote(piece)}" for piece in finding.pieces]
    parts += [f"edge={shlex.quote(edge)}" for edge in finding.edges]
    parts += [f"size={shlex.quote(finding.size)}"] if finding.size else []
    return f"{' '.join(parts)} severity={finding.severity.value}: {finding.message}"
