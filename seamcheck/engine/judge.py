"""From a file to a result, a function a stage: what one hands on is plain data for the next.

lay out   the seams of every size laid together and walked
observe   every check runs apart; one that crashes is reported as a failure of its plugin, never as a finding
explain   seams that are off are given their likely cause, from all that was observed
grade     what was observed becomes findings, by one rule for all checks
say once  what only repeats another finding that is said is left out
accept    findings that the plan accepts are marked with its reason
place     every finding is given the place in the file that it is about

What could not be judged ends with exit code 2: an open outline or a plan corner without a sure place is a finding
and a failure, because the seams there were not walked.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from fnmatch import fnmatchcase
from typing import TYPE_CHECKING

from seamcheck.amounts import Listed, Name, Phrase, listed, phrase, worded
from seamcheck.checks.base import TURNED_OFF, Check, Context, Observation, Skip
from seamcheck.engine.acceptance import Judged, accept
from seamcheck.engine.evidence import explain
from seamcheck.engine.grading import grade, in_force, own_tolerances, uncertain
from seamcheck.engine.observe import Ran, failed, observe
from seamcheck.engine.propose import proposed
from seamcheck.engine.read import Request, in_sizes, read_both, read_whole
from seamcheck.engine.repetitions import Graded, notes_not_said, say_once
from seamcheck.engine.result import (
    FileGeometry,
    FileResult,
    Finding,
    InForce,
    JudgedJunction,
    Skipped,
    WalkedSeam,
    WalkedSide,
)
from seamcheck.engine.source_places import located
from seamcheck.errors import InputError, SeamcheckError

if TYPE_CHECKING:
    from seamcheck.comparison import Comparison
    from seamcheck.config.settings import Settings
    from seamcheck.engine.plugins import Registry
    from seamcheck.engine.read import Reading
    from seamcheck.errors import Failure
    from seamcheck.pairing.proposal import Proposal
    from seamcheck.pattern.model import Pattern
    from seamcheck.pattern.plan import Plan
    from seamcheck.pattern.seam_graph import SeamGraph
    from seamcheck.pattern.walk import Walk


Recipes = Callable[["Reading", FileResult, "Comparison | None", "Registry", "Settings"], FileResult]


def check_file(
    path: str, request: Request, registry: Registry, settings: Settings, recipes: Recipes | None = None
) -> FileResult:
    """Judge one file; what stops the judging is in `failures`, one sentence each.

    `recipes` says how every cause is put right, as `true` does, which goes by all checks; without it the advice of the checks stands.
    """
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
                return _judge_inferred(proposal, reading, request, registry, settings, recipes)
        result = judge(
            reading.pattern,
            reading.plan,
            registry.checks,
            _narrowed(settings, request, registry),
            plugin_of=registry.plugin_of,
            sizes=request.sizes,
            before=before,
            geometry=request.geometry,
        )
        return result if recipes is None else recipes(reading, result, before, registry, settings)
    except SeamcheckError as error:
        return FileResult(path=path, failures=(error.failure,))


def _narrowed(settings: Settings, request: Request, registry: Registry) -> Settings:
    codes = {check.name: [code.name for code in check.codes] for check in registry.checks}
    return settings.narrowed(codes, request.select, request.ignore)


def _judge_inferred(
    proposal: Proposal,
    reading: Reading,
    request: Request,
    registry: Registry,
    settings: Settings,
    recipes: Recipes | None,
) -> FileResult:
    """Judge a pattern by the seams that are surely sewn, by the best guesses too if asked to; the rest is put as questions."""
    from seamcheck.pairing.plans import sure_plan
    from seamcheck.pairing.text import inferred_notes

    plan = sure_plan(proposal, guesses=request.guesses)
    result = judge(
        proposal.pattern,
        plan,
        registry.checks,
        _narrowed(settings, request, registry),
        plugin_of=registry.plugin_of,
        sizes=request.sizes,
        inferred={one.seam.name: one.confidence for one in proposal.seams},
        geometry=request.geometry,
    )
    if recipes is not None:
        result = recipes(replace(reading, pattern=proposal.pattern, plan=plan), result, None, registry, settings)
    return replace(result, notes=(*result.notes, *inferred_notes(proposal, guesses=request.guesses)))


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
    walked: Mapping[str, tuple[SeamGraph, tuple[Walk, ...]]] | None = None,
) -> FileResult:
    """Run every check on every size of a pattern, or on those of `sizes`; InputError for one that it does not have.

    `before` is what changed in it against an earlier file. `inferred` gives the confidence of each seam, by its name, where the
    plan was not written but inferred. With `geometry` the result keeps what was judged. `walked` are the seams of sizes that
    are laid together and walked already.
    """
    judged = in_sizes(pattern, sizes)
    # A pattern without any piece still has its outlines judged, in the sizes that they name.
    sizes = judged.sizes or tuple(dict.fromkeys(line.size for line in judged.open_outlines))
    known: dict[object, object] = {}
    contexts = [
        _laid_out(
            pattern,
            size,
            plan,
            settings,
            before,
            known,
            sizes,
            (walked or {}).get(size),
            inferred=inferred is not None,
        )
        for size in sizes
    ]
    # One size after the other, so that no more is held of one than what it amounts to.
    ran = (one for context in contexts for one in explain(context, observe(context, checks, plugin_of or {})))
    graded = say_once([grade_run(one, pattern.path, settings) for one in ran])
    crashed = {one.ran.check.name for one in graded if one.ran.crashed}
    findings = [finding for one in graded for _, finding in one.findings]
    notes = notes_not_said(pattern.notes, checks, findings, crashed, settings)
    skipped = [_skipped(skip, one.ran) for one in graded for skip in one.ran.skips]
    skipped += [one for check in checks for size in sizes for one in _turned_off(check, size, settings)]
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
    return FileResult(
        path=pattern.path,
        pattern=pattern.name,
        units=pattern.units,
        plan=plan.path if plan is not None and inferred is None else None,
        sizes=sizes,
        pieces=tuple(dict.fromkeys(piece.name for piece in judged.pieces)),
        checks=tuple(check.name for check in checks),
        in_force=tuple(_in_force(checks, settings, graded)),
        notes=notes,
        planned=tuple(seam.name for seam in plan.seams) if plan is not None else (),
        seams=tuple(_walked(walk, context.size, inferred) for context in contexts for walk in context.walks),
        open_edges=tuple(dict.fromkeys(edge for context in contexts for edge in _open_edges(context))),
        junctions=tuple(one for context in contexts for one in _junctions(context.graph, context.size)),
        skipped=tuple(dict.fromkeys(skipped)),
        findings=tuple(located(sorted(findings, key=_order), pattern)),
        failures=tuple(
            dict.fromkeys([*_unjudgeable(judged, plan), *(one.ran.failure for one in graded if one.ran.failure)])
        ),
        geometry=_geometry(judged, plan, contexts, before) if geometry else None,
    )


def _laid_out(
    pattern: Pattern,
    size: str,
    plan: Plan | None,
    settings: Settings,
    before: Comparison | None,
    known: dict[object, object],
    together: tuple[str, ...],
    walked: tuple[SeamGraph, tuple[Walk, ...]] | None,
    *,
    inferred: bool,
) -> Context:
    """One size with its seams laid together and walked: what the checks see; `known` is common to all sizes."""
    from seamcheck.pattern.seam_graph import build_graph
    from seamcheck.pattern.walk import walk_seams

    pieces = {piece.name: piece for piece in pattern.in_size(size)}
    graph, walks = walked or (build_graph(pieces, plan), None)
    return Context(
        pattern=pattern,
        size=size,
        pieces=pieces,
        plan=plan,
        graph=graph,
        walks=walk_seams(graph) if walks is None else walks,
        settings=settings,
        before=before,
        inferred=inferred,
        known=known,
        together=together,
    )


def grade_run(ran: Ran, path: str, settings: Settings) -> Graded:
    """What the observations of one run amount to; none of them counts where one cannot be told.

    Of those that amount to nothing only the ones with a tolerance of their own are kept, since that is told.
    """
    try:
        graded = [(one, grade(one, ran.check, ran.size, settings, ran.plugin)) for one in ran.observations]
    except Exception as error:
        return Graded(ran=failed(ran, path, error))
    unsure = (uncertain(one, ran.check, settings) for one, finding in graded if finding is None and one.uncertainty)
    skips = (*ran.skips, *(skip for skip in unsure if skip is not None))
    if graded:
        ran = replace(
            ran, skips=skips, observations=tuple(one for one in ran.observations if one.tolerance is not None)
        )
    return Graded(ran=ran, findings=tuple((seen, finding) for seen, finding in graded if finding is not None))


def _in_force(checks: Iterable[Check], settings: Settings, graded: Iterable[Graded]) -> Iterator[InForce]:
    """The tolerances and severities that were gone by, check by check."""
    observed: dict[str, list[tuple[str, Observation]]] = {}
    for one in graded:
        observed.setdefault(one.ran.check.name, []).extend((one.ran.size, seen) for seen in one.ran.observations)
    for check in checks:
        yield from in_force(check, settings)
        yield from own_tolerances(check, observed.get(check.name, ()), settings)


def _turned_off(check: Check, size: str, settings: Settings) -> Iterator[Skipped]:
    """What the shop, or who runs the program, does not want to be told, although the check looked at it."""
    off: dict[str, list[str]] = {}
    for code in check.codes:
        if settings.severity(check.name, code.name) == "off":
            off.setdefault(settings.severity_from(check.name, code.name), []).append(code.name)
    for by, codes in off.items():
        words = "turned off by {by}" if len(codes) == len(check.codes) else "{codes} turned off by {by}"
        why = phrase(words, codes=Listed(tuple(map(Name, codes))), by=Name(by))
        yield Skipped(check=check.name, size=size, reason=TURNED_OFF, why=why)


def _open_edges(context: Context) -> Iterator[str]:
    """The edges of one size that are in no seam, not unsewn and no fold."""
    plans = {piece.name: piece for piece in context.plan.pieces} if context.plan else {}
    for piece in context.pieces.values():
        plan = plans.get(piece.name)
        known = {*plan.unsewn, plan.fold} if plan else set()
        for edge in piece.edges:
            if edge.name not in known and not context.graph.seams_of(piece.name, edge.name):
                yield f"{piece.name}.{edge.name}"


def _geometry(
    judged: Pattern, plan: Plan | None, contexts: Sequence[Context], before: Comparison | None
) -> FileGeometry:
    """What a result is drawn from."""
    changed = [one for one in before.pieces if not one.same_outline] if before is not None else []
    return FileGeometry(
        pieces=judged.pieces,
        walks=tuple(walk for context in contexts for walk in context.walks),
        junctions=tuple(junction for context in contexts for junction in context.graph.junctions),
        jogs=tuple((context.size, jog) for context in contexts for jog in context.graph.jogs),
        plan=plan,
        earlier={(one.name, one.after.size): one.before.outline.transformed(one.placement) for one in changed},
    )


def _unjudgeable(pattern: Pattern, plan: Plan | None) -> Iterable[Failure]:
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
    yield from _missing(pattern, plan)
    if not pattern.pieces and not pattern.open_outlines:
        scale = " ".join(one.words for one in pattern.scale if not one.right)
        yield InputError(
            "no piece was found: there is no closed outline of more than 4 square centimetres",
            path=pattern.path,
            remedy=scale or "see what was read with: seamcheck pieces FILE",
        ).failure


def _missing(pattern: Pattern, plan: Plan | None) -> Iterable[Failure]:
    """The pieces of the plan that the file, or one of its sizes, does not have: none of their seams is walked."""
    sizes = {piece.name: [one.size for one in pattern.pieces if one.name == piece.name] for piece in pattern.pieces}
    opened = [line.name.casefold() for line in pattern.open_outlines]
    for piece in plan.pieces if plan is not None and pattern.pieces else ():
        without = [size for size in pattern.sizes if size not in sizes.get(piece.name, ())]
        if without and not any(fnmatchcase(name, piece.in_file.casefold()) for name in opened):
            of_size = f" in size {listed(without)}" if piece.name in sizes else ""
            yield InputError(
                f'the plan\'s piece "{piece.name}" (in-file = "{piece.in_file}") is not there{of_size}',
                path=pattern.path,
                remedy="correct in-file in the plan, or add the piece to the file",
            ).failure


def open_outlines(pattern: Pattern) -> Iterable[Failure]:
    """The lines that were meant to be pieces and do not close, one sentence each."""
    for line in pattern.open_outlines:
        yield InputError(
            f"{line.name}: the outline is open by {line.gap:.1f} mm at "
            f"({line.ends[0].real:.1f}, {line.ends[0].imag:.1f})",
            path=pattern.path,
            place=line.place,
            remedy="join the two ends in the drawing program",
        ).failure


def _skipped(skip: Skip, ran: Ran) -> Skipped:
    return Skipped(
        check=ran.check.name,
        size=ran.size,
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
