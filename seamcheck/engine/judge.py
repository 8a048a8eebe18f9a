"""From a file to a result: read, name, walk, check, grade.

Every check runs apart; what it observes is graded here, by one rule. A check that crashes is reported as a failure of
its plugin, never as a finding.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from seamcheck.amounts import Phrase, listed, phrase, worded
from seamcheck.checks.base import Check, Context, Observation, Skip
from seamcheck.engine.acceptance import PLAN_CHECK, Judged, accept
from seamcheck.engine.grading import grade, in_force, own_tolerances
from seamcheck.engine.propose import proposed
from seamcheck.engine.read import Request, in_sizes, read_both, read_whole
from seamcheck.engine.result import FileGeometry, FileResult, Finding, JudgedJunction, Skipped, WalkedSeam, WalkedSide
from seamcheck.engine.source_places import located
from seamcheck.errors import InputError, SeamcheckError
from seamcheck.pattern.junctions import UNPAIRED

if TYPE_CHECKING:
    from seamcheck.comparison import Comparison
    from seamcheck.config.settings import Settings
    from seamcheck.engine.plugins import Registry
    from seamcheck.pairing.proposal import Proposal
    from seamcheck.pattern.drawing import Note
    from seamcheck.pattern.model import Pattern
    from seamcheck.pattern.plan import Plan
    from seamcheck.pattern.seam_graph import SeamGraph
    from seamcheck.pattern.walk import Walk


NO_PLAN = phrase(
    'the seams were inferred, so there is no plan to compare with; "seamcheck pair" writes one to confirm'
)


def check_file(path: str, request: Request, registry: Registry, settings: Settings) -> FileResult:
    """Judge one file; what stops the judging is in `failures`, one sentence each."""
    # The sizes that were not asked for are read all the same: they tell how those that were should run.
    whole = replace(request, sizes=())
    try:
        before = None
        if request.before is None:
            reading = read_whole(path, whole, registry, settings)
        else:
            reading, before = read_both(str(request.before), path, whole, registry, settings)
        if reading.plan is None and before is None and reading.pattern.pieces:
            proposal = proposed(reading, whole, registry, settings)
            if proposal.seams:
                return _judge_inferred(proposal, request, registry, settings)
        return judge(
            reading.pattern,
            reading.plan,
            registry.checks,
            settings,
            plugin_of=registry.plugin_of,
            sizes=request.sizes,
            before=before,
            geometry=request.geometry,
        )
    except SeamcheckError as error:
        return FileResult(path=path, failures=(error.failure,))


def _judge_inferred(proposal: Proposal, request: Request, registry: Registry, settings: Settings) -> FileResult:
    """Judge a pattern by the seams that are surely sewn; what is only likely is put as a question and not judged."""
    from seamcheck.pairing.plans import sure_plan
    from seamcheck.pairing.text import question_notes, sure_note

    result = judge(
        proposal.pattern,
        sure_plan(proposal),
        registry.checks,
        settings,
        plugin_of=registry.plugin_of,
        sizes=request.sizes,
        inferred={one.seam.name: one.confidence for one in proposal.seams},
        geometry=request.geometry,
    )
    return replace(result, notes=(*result.notes, sure_note(proposal), *question_notes(proposal)))


def judge(
    pattern: Pattern,
    plan: Plan | None,
    checks: Sequence[Check],
    settings: Settings,
    *,
    plugin_of: Mapping[str, str] | None = None,
    sizes: Sequence[str] = (),
    before: Comparison | None = None,
    inferred: Mapping[str, float] | None = None,
    geometry: bool = False,
) -> FileResult:
    """Run every check on every size of a pattern, or on those of `sizes`; InputError for one that it does not have.

    `before` is what changed in it against an earlier file. `inferred` gives the confidence of each seam, by its name, where the
    plan was not written but inferred. With `geometry` the result keeps what was judged.
    """
    from seamcheck.pattern.seam_graph import build_graph
    from seamcheck.pattern.walk import walk_seams

    findings: list[Finding] = []
    skipped: list[Skipped] = []
    crashed: set[str] = set()
    observed: dict[str, list[tuple[str, Observation]]] = {check.name: [] for check in checks}
    judged = in_sizes(pattern, sizes)
    failures: list[str] = list(_unjudgeable(judged))
    seams: list[WalkedSeam] = []
    junctions: list[JudgedJunction] = []
    laid: list[SeamGraph] = []
    walked: list[Walk] = []
    # A pattern without any piece still has its outlines judged, in the sizes that they name.
    sizes = judged.sizes or tuple(dict.fromkeys(line.size for line in judged.open_outlines))
    for size in sizes:
        pieces = {piece.name: piece for piece in pattern.in_size(size)}
        graph = build_graph(pieces, plan)
        walks = walk_seams(graph)
        laid.append(graph)
        walked += walks
        seams += (_walked(walk, size, inferred) for walk in walks)
        junctions += _junctions(graph, size)
        context = Context(
            pattern=pattern,
            size=size,
            pieces=pieces,
            plan=plan,
            graph=graph,
            walks=walks,
            settings=settings,
            before=before,
            inferred=inferred is not None,
        )
        for check in checks:
            plugin = (plugin_of or {}).get(check.name, "")
            if inferred is not None and check.name == PLAN_CHECK:
                skipped.append(Skipped(check=check.name, size=size, reason="inferred", why=NO_PLAN))
                continue
            try:
                seen = list(check.run(context))
                graded = [grade(item, check, size, settings, plugin) for item in seen if not isinstance(item, Skip)]
            except SeamcheckError as error:  # say options of a plugin that cannot be used
                failures.append(error.failure)
                continue
            except Exception as error:  # a house check may raise, or say, anything; the others still run
                failures.append(_crashed(pattern.path, check, plugin, size, error))
                crashed.add(check.name)
                continue
            observed[check.name] += [(size, item) for item in seen if not isinstance(item, Skip)]
            findings += (finding for finding in graded if finding is not None)
            skips = (item for item in seen if isinstance(item, Skip))
            skipped += (_skipped(_told_once(item, inferred), check, size) for item in skips)
    if plan is not None:
        run = Judged(
            pattern=pattern,
            plan=plan,
            sizes=sizes,
            checks=checks,
            crashed=crashed,
            skipped=skipped,
            settings=settings,
        )
        findings, of_entries = accept(findings, run)
        skipped += of_entries
    findings = located(sorted(findings, key=_order), pattern)
    return FileResult(
        path=pattern.path,
        pattern=pattern.name,
        units=pattern.units,
        plan=plan.path if plan is not None and inferred is None else None,
        sizes=sizes,
        pieces=tuple(dict.fromkeys(piece.name for piece in judged.pieces)),
        checks=tuple(check.name for check in checks),
        in_force=tuple(
            row
            for check in checks
            for row in (
                *in_force(check, settings),
                *own_tolerances(check, observed[check.name], settings),
            )
        ),
        notes=_not_found_anyway(pattern.notes, checks),
        seams=tuple(seams),
        junctions=tuple(junctions),
        skipped=tuple(dict.fromkeys(skipped)),
        findings=tuple(findings),
        failures=tuple(dict.fromkeys(failures)),
        geometry=_geometry(judged, plan, walked, laid, sizes) if geometry else None,
    )


def _geometry(
    judged: Pattern, plan: Plan | None, walks: Iterable[Walk], laid: Sequence[SeamGraph], sizes: Sequence[str]
) -> FileGeometry:
    """What a result is drawn from."""
    return FileGeometry(
        pieces=judged.pieces,
        walks=tuple(walks),
        junctions=tuple(junction for graph in laid for junction in graph.junctions),
        jogs=tuple((size, jog) for size, graph in zip(sizes, laid, strict=True) for jog in graph.jogs),
        plan=plan,
    )


def _not_found_anyway(notes: Iterable[Note], checks: Sequence[Check]) -> tuple[Note, ...]:
    """The notes of the reading that no check makes findings of."""
    told = {code for check in checks for code in check.notes}
    return tuple(note for note in notes if note.code not in told)


def _unjudgeable(pattern: Pattern) -> Iterable[str]:
    """What keeps a file from being judged whole, one sentence each."""
    yield from open_outlines(pattern)
    unsure: dict[tuple[str, str], dict[str, Phrase]] = {}
    for piece in pattern.pieces:
        for corner, why in piece.unsure.items():
            unsure.setdefault((piece.name, corner), {})[piece.size] = why
    for (name, corner), sizes in unsure.items():
        (size, why), *others = sizes.items()
        more = f" (in size {size}; it is not sure in {listed([one for one, _ in others])} either)" if others else ""
        yield InputError(
            f'plan corner "{corner}": {why}{more}',
            path=pattern.path,
            place=f"piece {name}",
            remedy="correct its coordinates in the plan",
        ).failure
    if not pattern.pieces and not pattern.open_outlines:
        yield InputError(
            "no piece was found: there is no closed outline of more than 4 square centimetres",
            path=pattern.path,
            remedy="see what was read with: seamcheck pieces FILE",
        ).failure


def open_outlines(pattern: Pattern) -> Iterable[str]:
    """The lines that were meant to be pieces and do not close, one sentence each."""
    for line in pattern.open_outlines:
        yield InputError(
            f"{line.name}: the outline is open by {line.gap:.1f} mm at "
            f"({line.ends[0].real:.1f}, {line.ends[0].imag:.1f})",
            path=pattern.path,
            place=line.place,
            remedy="join the two ends in the drawing program",
        ).failure


def _crashed(path: str, check: Check, plugin: str, size: str, error: Exception) -> str:
    import logging
    import traceback

    logging.getLogger("seamcheck").debug("", exc_info=error)
    frames = traceback.extract_tb(error.__traceback__)
    # The last line of the check's own file: what it called may have failed, but it is there that it can be put right.
    own = getattr(getattr(check.run, "__code__", None), "co_filename", None)
    last = next((frame for frame in reversed(frames) if frame.filename == own), None)
    where = f"{Path(last.filename).name} line {last.lineno}" if last else Path(own or frames[-1].filename).name
    return (
        f"{path}, size {size}: check {check.name} of plugin {plugin or 'unknown'} crashed in {where} "
        f"({type(error).__name__}: {error}); the other checks ran, report this to whoever wrote the plugin"
    )


def _told_once(skip: Skip, inferred: Mapping[str, float] | None) -> Skip:
    """One reason for all the corners that no inferred seam reaches, so that they are told in one line."""
    if inferred is None or skip.reason != UNPAIRED:
        return skip
    return Skip(reason=UNPAIRED, why="corners where an edge was not paired")


def _skipped(skip: Skip, check: Check, size: str) -> Skipped:
    return Skipped(
        check=check.name,
        size=size,
        reason=skip.reason,
        why=worded(skip.why),
        seam=skip.seam,
        piece=skip.piece,
        edge=skip.edge,
        corners=skip.corners,
    )


def _walked(walk: Walk, size: str, inferred: Mapping[str, float] | None) -> WalkedSeam:
    first, second = walk.seam.first, walk.seam.second
    return WalkedSeam(
        name=walk.name,
        size=size,
        first=WalkedSide(edges=first.names, length=first.length),
        second=WalkedSide(edges=second.names, length=second.length),
        difference=walk.difference,
        allowed=walk.allowed,
        inferred=inferred is not None,
        confidence=1.0 if inferred is None else inferred.get(walk.name, 1.0),
    )


def _junctions(graph: SeamGraph, size: str) -> Iterable[JudgedJunction]:
    for junction in graph.junctions:
        yield JudgedJunction(corners=junction.names, size=size, angle=junction.angle, expected=junction.expected)


def _order(finding: Finding) -> tuple[object, ...]:
    share = abs(finding.measured or 0.0) / finding.tolerance if finding.tolerance else 0.0
    return (
        finding.severity.rank,
        -round(share, 6),
        finding.check,
        finding.code,
        finding.seam or "",
        finding.edges,
        finding.pieces,
        finding.size,
        finding.message,
    )
