"""What `findings.html` asks of a finding: its name in a few words, and what of the page it leads to."""

from __future__ import annotations

from typing import TYPE_CHECKING

from seamcheck import amounts
from seamcheck.report import telling
from seamcheck.report.html.view import junction_of, named

if TYPE_CHECKING:
    from seamcheck.engine.grouping import Group
    from seamcheck.report.html.view import Told, View

MOST_NAMED = 3  # edges or pieces in a heading
MOST_OPEN = 3  # signs of a cause that are told without being asked for


def short(group: Group, view: View) -> str:
    """A finding in a few words: its seam, or its edges or pieces, and the sizes."""
    parts = (about(group, view), telling.sizes_of(group.sizes, view.file))
    return ", ".join(part for part in parts if part) or group.worst.check


def about(group: Group, view: View) -> str:
    """The seam that a finding is of, or its edges or pieces; "" where it names none."""
    finding = group.worst
    junction = junction_of(view.file, finding)
    if finding.seam and junction is None:
        return f"seam {finding.seam}"
    names = finding.edges or finding.pieces if junction is None else view.file.junctions[junction].corners
    return amounts.listed(names[:MOST_NAMED]) + (" and more" if len(names) > MOST_NAMED else "")


def target_of(view: View, told: Told) -> str:
    """The part of the page that a finding is of: its mark, else its seam or piece; "" where there is none."""
    if any(mark.number == told.number for mark in view.marks):
        return view.id("mark", told.number)
    finding = told.group.worst
    if finding.seam in view.seams:
        return view.id("seam", view.seams.index(finding.seam))
    for name in named(finding):
        if name in view.file.pieces:
            return view.id("piece", view.file.pieces.index(name))
    return ""


def ways_from(view: View, told: Told) -> list[tuple[str, str, str]]:
    """Ways to the seams and pieces that a finding is of: where to, the kind and the name."""
    every = told.group.findings
    seams = dict.fromkeys(one.seam for one in every if one.seam in view.seams)
    pieces = dict.fromkeys(name for one in every for name in named(one) if name in view.file.pieces)
    return [
        *((view.id("seam", view.seams.index(name)), "seam", name) for name in seams if name),
        *((view.id("piece", view.file.pieces.index(name)), "piece", name) for name in sorted(pieces)),
    ]
