"""A file trued: every size corrected by itself, the result described, and written beside the old lines."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from seamcheck import engine
from seamcheck.errors import InputError, SeamcheckError
from seamcheck.marks import Note
from seamcheck.result import FileResult, Finding
from seamcheck.truing.changes import PieceChange, changes
from seamcheck.truing.edits import edits
from seamcheck.truing.propose import Truing, Wishes, true_up
from seamcheck.truing.state import Judges, State, named_shapes
from seamcheck.truing.weigh import raised

if TYPE_CHECKING:
    from seamcheck.engine import Reading, Request
    from seamcheck.registry import Registry
    from seamcheck.settings import Settings


@dataclass(frozen=True, slots=True, kw_only=True)
class TruedFile:
    """What became of a file: one `Truing` for each size, what was drawn anew, and what should be known."""

    path: str
    reading: Reading
    sizes: tuple[Truing, ...]
    changes: tuple[PieceChange, ...]
    notes: tuple[Note, ...]

    @property
    def left(self) -> tuple[Finding, ...]:
        """The findings that remain and that nobody has accepted."""
        return tuple(f for truing in self.sizes for f in truing.left.findings if f.accepted is None)

    @property
    def failures(self) -> tuple[str, ...]:
        """What could not be judged."""
        return tuple(dict.fromkeys(why for truing in self.sizes for why in truing.left.failures))


def true_file(path: str, request: Request, registry: Registry, settings: Settings, wishes: Wishes) -> TruedFile:
    """Read a file and correct it in memory; SeamcheckError when it cannot be read or has no plan."""
    reading = engine.read_whole(path, request, registry, settings)
    if reading.plan is None:
        raise SeamcheckError(
            "there is no seam plan, so nothing says which edges must true with which",
            path=path,
            remedy="write one (see the README), or name it with --plan",
        )
    masters = frozenset(piece.name for piece in reading.plan.pieces if piece.master)
    by_seam = {
        seam.name: frozenset(use.piece for use in seam.sides[0 if seam.master == "first" else 1])
        for seam in reading.plan.seams
        if seam.master
    }
    wishes = replace(wishes, masters=wishes.masters | masters, seam_masters=by_seam)
    states = [_opened(reading, size, registry, settings) for size in reading.pattern.sizes]
    trued = tuple(true_up(state, wishes) for state in states)
    notes = tuple(_cut_only(reading))
    return TruedFile(
        path=path,
        reading=reading,
        sizes=trued,
        changes=tuple(change for one in trued for change in changes(one.before, one.after)),
        notes=notes,
    )


def _opened(reading: Reading, size: str, registry: Registry, settings: Settings) -> State:
    """One size made ready: its plan's corners are those that were found in it."""
    assert reading.plan is not None
    pieces = reading.pattern.in_size(size)
    planned = {piece.name: piece for piece in reading.plan.pieces}
    plans = {
        piece.name: replace(planned[piece.name], corners=_corners(piece.name, reading, size))
        for piece in pieces
        if piece.name in planned
    }
    return State(
        pattern=replace(reading.pattern, sizes=(size,), pieces=pieces),
        size=size,
        shapes=named_shapes(pieces, reading.sheet.shapes, size),
        plans=plans,
        judges=Judges(reading.plan, registry.checks, settings),
    )


def _corners(name: str, reading: Reading, size: str) -> Mapping[str, complex]:
    """Where the plan's corners are in one size; those inside the piece stay where the plan has them."""
    assert reading.plan is not None
    piece = next(piece for piece in reading.pattern.in_size(size) if piece.name == name)
    found = {corner.name: corner.at for corner in piece.corners if corner.named}
    for dart in piece.darts:
        found |= dict(zip(dart.corners, dart.points, strict=True))
    return {corner: found.get(corner, at) for corner, at in reading.plan.piece(name).corners.items()}


def _cut_only(reading: Reading) -> Iterable[Note]:
    names = sorted({p.name for p in reading.pattern.pieces if p.outline is not p.drawn})
    if names:
        yield Note(
            "cut-line-not-trued",
            f"{', '.join(names)}: the cut line is drawn beside the sew line or in its stead; it is not redrawn. Draw it anew "
            "round the trued sew line.",
        )


# Writing


def write_trued(
    trued: TruedFile, output: str, request: Request, registry: Registry, settings: Settings, *, force: bool
) -> FileResult:
    """Write the trued pattern in the form of the file that was read, and check what was written.

    By way of a temporary file beside it. SeamcheckError when the file exists and `force` is not set, when the form
    cannot be written, or when what was written does not read back as it was drawn.
    """
    target = Path(output)
    if target.exists() and not force:
        raise SeamcheckError(
            "the file exists already", path=output, remedy="name another, or replace it with --force"
        )
    if target.suffix.lower() != Path(trued.path).suffix.lower():
        raise SeamcheckError(
            f"the trued pattern is written in the form of the file read, {Path(trued.path).suffix}",
            path=output,
            remedy=f"name a file that ends in {Path(trued.path).suffix}",
        )
    data = Path(trued.path).read_bytes()
    new = _writer(trued.reading.drawing.format)(data, trued)
    assert trued.reading.plan is not None
    # Companions, such as a rule table, are found beside the file read.
    part = target.with_name(f".{target.stem}.{os.getpid()}.part{target.suffix}")
    try:
        try:
            part.write_bytes(new)
        except OSError as error:
            reason = (error.strerror or str(error)).lower()
            raise SeamcheckError(
                f"cannot be written ({reason})", path=output, remedy="choose another place"
            ) from None
        again = replace(request, plan=Path(trued.reading.plan.path))
        result = engine.check_file(str(part), again, registry, settings)
        _same_as_drawn(trued, result, str(part))
        if target.exists():
            shutil.copymode(target, part)
        part.replace(target)
    finally:
        part.unlink(missing_ok=True)
    return replace(result, path=output)


def _same_as_drawn(trued: TruedFile, result: FileResult, part: str) -> None:
    """Refuse a file that reads back with findings which the corrected pattern has not."""
    if result.failures and not trued.failures:
        raise SeamcheckError(
            f"the trued file would not read back ({result.failures[0].replace(part, 'it')})",
            path=trued.path,
            remedy="nothing was written; please report it",
        )
    for truing in trued.sizes:
        size = truing.after.size
        mine = replace(result, findings=tuple(f for f in result.findings if f.size == size))
        worse = raised(truing.left, mine)
        if worse is not None:
            raise SeamcheckError(
                f"the trued file would read back with a finding that the correction does not have ({worse.message})",
                path=trued.path,
                remedy="nothing was written; please report it",
            )


Writer = Callable[[bytes, TruedFile], bytes]


def _writer(form: str) -> Writer:
    writers: dict[str, Writer] = {"svg": _svg}
    form = form.casefold()
    if form not in writers:
        raise InputError(f"a trued {form} cannot be written yet", remedy="save the pattern as SVG or DXF")
    return writers[form]


def _svg(data: bytes, trued: TruedFile) -> bytes:
    from seamcheck.truing.write_svg import write_svg

    every = [edit for truing in trued.sizes for edit in edits(truing.before, truing.after)]
    return write_svg(data, trued.path, trued.reading.drawing.lines, every)
