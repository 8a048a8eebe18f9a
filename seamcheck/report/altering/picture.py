"""The picture of an alteration: each piece as it was and as it is, the cuts drawn on it as it was."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from seamcheck.errors import SeamcheckError
from seamcheck.report.altering.marks import cuts_of
from seamcheck.report.truing.picture import Subject, subjects
from seamcheck.report.truing.write import as_svg

if TYPE_CHECKING:
    from seamcheck.altering.rehearse import Rehearsal
    from seamcheck.altering.run import AlteredFile
    from seamcheck.engine.report_format import RenderOptions

RING = 4.0  # mm of cloth: the radius of the ring round a hinge


def altered_subjects(altered: AlteredFile) -> list[Subject]:
    """The pieces that changed, size by size, each with the cuts that were made in it."""
    trued = altered.trued
    found = []
    for one in subjects(trued.sizes, trued.changes, every=False):
        size = next(size for size in altered.sizes if size.size == one.before.size)
        cuts = [cut for done in size.steps if done.step.piece == one.name for cut in cuts_of(done, RING)]
        found.append(replace(one, cuts=tuple(cuts)))
    return found


def render_svg(rehearsal: Rehearsal, options: RenderOptions, written: Sequence[str]) -> str:
    """Before and after as an SVG that fits a page; SeamcheckError where nothing changed."""
    pieces = altered_subjects(rehearsal.altered)
    if not pieces:
        raise SeamcheckError("nothing changed, so there is no picture", path=rehearsal.altered.path)
    return as_svg(pieces, None)
