"""From a file and what was asked for to a pattern with its plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

from seamcheck.errors import InputError, SeamcheckError

if TYPE_CHECKING:
    from seamcheck.comparison import Comparison
    from seamcheck.config.limits import ReadOptions
    from seamcheck.config.settings import Settings
    from seamcheck.engine.plugins import Registry
    from seamcheck.pattern.drawing import Drawing
    from seamcheck.pattern.model import Pattern
    from seamcheck.pattern.plan import Plan
    from seamcheck.pieces.outline import Sheet


@dataclass(frozen=True, slots=True, kw_only=True)
class Request:
    """What the user asked for on top of file and settings; lengths in mm.

    With `geometry` the result keeps the curves that were judged, for formats that draw. With `second_reading` the file is read once
    more by a library that shares no code with the reader here. With `guesses` the best guesses of a pattern without a plan
    are judged too. `select` are the checks and codes that it is judged by alone, all where none is named; `ignore` those that are left out. `given` is
    a file whose bytes are handed over and not read from disk.
    """

    plan: Path | None = None
    before: Path | None = None
    sizes: tuple[str, ...] = ()
    units: str | None = None
    line: str | None = None
    allowance: float | None = None
    dpi: float | None = None
    encoding: str | None = None
    geometry: bool = False
    second_reading: bool = False
    guesses: bool = False
    select: tuple[str, ...] = ()
    ignore: tuple[str, ...] = ()
    given: tuple[str, bytes] | None = field(default=None, repr=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """All that was read: the marks of the drawing, the shapes they make, and what the plan makes of those."""

    drawing: Drawing
    sheet: Sheet
    pattern: Pattern
    plan: Plan | None


def read(path: str, request: Request, registry: Registry, settings: Settings) -> tuple[Pattern, Plan | None]:
    """Read a pattern and its plan; SeamcheckError when either cannot be used."""
    reading = read_whole(path, request, registry, settings)
    return reading.pattern, reading.plan


def read_whole(path: str, request: Request, registry: Registry, settings: Settings) -> Reading:
    """Read a pattern and its plan, and keep what they were made of; SeamcheckError when either cannot be used."""
    return _read_by(plan_for(path, request), path, request, registry, settings)


def read_to_redraw(path: str, request: Request, registry: Registry, settings: Settings) -> Reading:
    """Read a pattern that is to be drawn anew; SeamcheckError also where it has no plan, or no piece was found."""
    reading = read_whole(path, request, registry, settings)
    if reading.plan is None:
        raise SeamcheckError(
            "there is no seam plan, so no edge has a name and nothing says what is sewn to what",
            path=path,
            remedy="propose one with: seamcheck pair FILE; or name one with --plan",
        )
    if not reading.pattern.pieces:
        raise InputError(
            "no piece was found, so there is nothing to draw anew",
            path=path,
            remedy="see what was read with: seamcheck pieces FILE",
        )
    return reading


def read_both(
    before: str, path: str, request: Request, registry: Registry, settings: Settings
) -> tuple[Reading, Comparison]:
    """Read a pattern with its plan, and what changed in it against an earlier file; SeamcheckError when one cannot be used.

    A file without a plan of its own is read by that of the other, and its corners found again. Without any plan the
    corners of the earlier file are found again.
    """
    from seamcheck.comparison import compare
    from seamcheck.comparison.plan_transfer import plan_from, renamed, upside_down
    from seamcheck.config.plan_file import find_plan

    ways = (before, path), (path, before)
    plans = [request.plan or find_plan(one) or find_plan(other) for one, other in ways]
    drawings = [_drawn(one, request, registry, settings) for one in (before, path)]
    readings = []
    for (drawing, sheet), plan_path, asked in zip(
        drawings, plans, (replace(request, sizes=()), request), strict=True
    ):
        plan = _plan_at(plan_path)
        if plan is not None and drawing.y_down != drawings[_owner(plan_path, before)][0].y_down:
            plan = upside_down(plan)
        readings.append(_made_of(drawing, sheet, plan, asked, settings))
    earlier, reading = readings[0].pattern, readings[1]
    if reading.plan is None:
        named = _named_by(plan_from(earlier, reading.pattern), reading, request, settings)
        return reading, compare(earlier, named)
    plan, notes = renamed(reading.plan, earlier, reading.pattern)
    if notes:
        pattern = _named_by(plan, reading, request, settings)
        reading = replace(reading, plan=plan, pattern=replace(pattern, notes=(*pattern.notes, *notes)))
    return reading, compare(earlier, reading.pattern)


def _read_by(plan_path: Path | None, path: str, request: Request, registry: Registry, settings: Settings) -> Reading:
    drawing, sheet = _drawn(path, request, registry, settings)
    return _made_of(drawing, sheet, _plan_at(plan_path), request, settings)


def _drawn(path: str, request: Request, registry: Registry, settings: Settings) -> tuple[Drawing, Sheet]:
    from seamcheck.pieces.outline import assemble
    from seamcheck.reading import read_drawing

    options = read_options(request, settings)
    drawing = read_drawing(path, options, registry.importers)
    if request.second_reading:
        from seamcheck.reading.base import read_source
        from seamcheck.reading.second import read_twice

        drawing = read_twice(read_source(path, options), drawing)
    return drawing, assemble(drawing, options.limits)


def _plan_at(path: Path | None) -> Plan | None:
    from seamcheck.config.plan_file import read_plan

    return read_plan(path) if path is not None else None


def _owner(plan_path: Path | None, before: str) -> int:
    """Which of two files a plan was written for: the earlier one (0) when it lies beside it, else the later one (1)."""
    from seamcheck.config.plan_file import find_plan

    beside = find_plan(before)
    same = beside is not None and plan_path is not None and beside.resolve() == plan_path.resolve()
    return 0 if same else 1


def _made_of(drawing: Drawing, sheet: Sheet, plan: Plan | None, request: Request, settings: Settings) -> Reading:
    """What a plan makes of a drawing and its shapes."""
    from seamcheck.pieces.build import build_pattern

    allowance = request.allowance if request.allowance is not None else settings.allowance
    pattern = build_pattern(drawing, sheet, plan, line=request.line, allowance=allowance)
    return Reading(drawing=drawing, sheet=sheet, pattern=in_sizes(pattern, request.sizes), plan=plan)


def _named_by(plan: Plan, reading: Reading, request: Request, settings: Settings) -> Pattern:
    """The pattern again, with the names that another plan gives it."""
    return _made_of(reading.drawing, reading.sheet, plan, request, settings).pattern


def plan_for(path: str, request: Request) -> Path | None:
    """The plan that was named, or the one that lies beside the pattern; None when there is none."""
    from seamcheck.config.plan_file import find_plan

    return request.plan or find_plan(path)


def read_options(request: Request, settings: Settings) -> ReadOptions:
    """What was asked for and what the shop sets, for whoever reads a file."""
    from seamcheck.config.limits import ReadOptions

    return ReadOptions(
        units=request.units or settings.units,
        dpi=request.dpi,
        encoding=request.encoding,
        layers=settings.layers,
        limits=settings.limits,
        given=request.given,
    )


def in_sizes(pattern: Pattern, sizes: Sequence[str]) -> Pattern:
    """The pattern in these sizes alone, all where none is named; InputError for one that it does not have."""
    if not sizes:
        return pattern
    known = {size.casefold(): size for size in pattern.sizes}
    for size in sizes:
        if size.casefold() not in known:
            raise InputError(
                f'the file has no size "{size}"',
                path=pattern.path,
                remedy=f"its sizes are {', '.join(pattern.sizes)}" if pattern.sizes else "it has no sizes",
            )
    wanted = {known[size.casefold()] for size in sizes}
    return replace(
        pattern,
        sizes=tuple(size for size in pattern.sizes if size in wanted),
        pieces=tuple(piece for piece in pattern.pieces if piece.size in wanted),
        open_outlines=tuple(line for line in pattern.open_outlines if line.size in wanted),
    )
