"""What `findings.html` asks of a finding: its name in a few words, and what of the page it leads to."""

from __future__ import annotations

from hashlib import sha256
from typing import TYPE_CHECKING

from seamcheck import amounts
from seamcheck.amounts import Listed, Name
from seamcheck.report import telling
from seamcheck.report.html.view import junction_of, named

if TYPE_CHECKING:
    from seamcheck.amounts import Fact, Phrase
    from seamcheck.engine.grouping import Group
    from seamcheck.report.html.view import Told, View

MOST_NAMED = 3  # edges or pieces in a heading
MOST_OPEN = 3  # signs of a cause that are told without being asked for


def short(group: Group, view: View) -> str:
    """A finding in a few words: its seam, or its edges or pieces, and the sizes."""
    parts = (about(group, view), telling.sizes_of(group.sizes, view.file))
    return ", ".join(part for part in parts if part) or group.worst.check


def headline(view: View, told: Told) -> Fact:
    """A cause in a few words: what is off, by how much, and at which end."""
    if told.cause is None:
        return short(told.group, view)
    amount, near = telling.amount(told.cause), telling.near(told.cause)
    parts = (Name(telling.named(told.cause, view.file)), amount, near)
    return Listed(tuple(part for part in parts if part != ""), last=", ")


def key_of(view: View, told: Told, step: Phrase) -> str:
    """What a page remembers a step by: another file, another place or other words are another step."""
    whole = "\n".join((view.file.path, short(told.group, view), telling.rule(told.group.worst), str(step)))
    return sha256(whole.encode()).hexdigest()[:12]


# What may be shown alone


def pieces_of(told: Told) -> list[str]:
    """The pieces that a cause and its signs name."""
    every = (finding for one in (told, *told.signs) for finding in one.group.findings)
    return list(dict.fromkeys(name for finding in every for name in named(finding)))


def sizes_of(told: Told) -> list[str]:
    """The sizes in which a cause and its signs were found."""
    return list(dict.fromkeys(size for one in (told, *told.signs) for size in one.group.sizes if size))


def choices(view: View) -> tuple[list[str], list[str], list[str]]:
    """The pieces, sizes and severities that one may choose among: those of what was found, but all sizes, which are laid on the pieces."""
    pieces = {name for told in view.told for name in pieces_of(told)}
    grades = {told.severity for told in view.told}
    return (
        [name for name in view.file.pieces if name in pieces],
        [size for size in view.file.sizes if size]
        if len(view.file.sizes) > 1 and view.file.geometry is not None
        else [],
        [grade for grade in ("error", "warning", "note") if grade in grades],
    )


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


def walk_of(view: View, seam: str, size: str) -> dict[str, object] | None:
    """What a slider needs to walk a seam: both sides with their edges, and the stations in mm that belong together."""
    from seamcheck.pattern.walk import end_name
    from seamcheck.report.figures.parts import walked
    from seamcheck.report.figures.seam import matched

    one = walked(view.file, seam, size)
    if one.walk.seam.twin:
        return None
    sides = [
        {
            "name": side.words,
            "uses": [
                [use.name, round(offset, 3), round(edge.length, 3), use.backwards]
                for use, edge, offset in zip(side.uses, side.edges, side.offsets, strict=True)
            ],
        }
        for side in (one.walk.seam.first, one.walk.seam.second)
    ]
    return {
        "size": size,
        "start": str(end_name(one.walk.seam, 0)),
        "end": str(end_name(one.walk.seam, -1)),
        "sides": sides,
        "knots": [[round(a, 3), round(b, 3)] for a, b in matched(one)],
    }
