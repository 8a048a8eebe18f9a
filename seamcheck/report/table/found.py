"""What was found in a file, as the page shows it: the verdict, and each cause with its words and its place on the sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from seamcheck.report import pen, telling
from seamcheck.report.html.findings import headline, short
from seamcheck.report.html.view import View, view_of
from seamcheck.report.table.told import point

if TYPE_CHECKING:
    from collections.abc import Iterable

    from seamcheck.engine.causes import Cause
    from seamcheck.engine.result import FileResult, Finding
    from seamcheck.geometry.curve import Affine, Curve
    from seamcheck.report.html.view import Told
    from seamcheck.report.pairing.sheet import PairingSheet


def verdict(file: FileResult, sheet: PairingSheet) -> dict[str, Any]:
    """The verdict of a file and its causes, the worst first; places are those on the sheet, of what is in its size."""
    view = view_of(file, "file", 1)
    said, kind = telling.verdict(file, [told.cause for told in view.told if told.cause is not None])
    moves = {piece.name: piece.move for piece in sheet.pieces}
    return {
        "said": said[:1].upper() + said[1:],
        "kind": kind,
        "looked": telling.looked_at(file),
        "causes": [_cause(view, told, told.cause, sheet.size, moves) for told in view.told if told.cause is not None],
    }


def _cause(view: View, told: Told, cause: Cause, size: str, moves: dict[str, Affine]) -> dict[str, Any]:
    finding = told.group.worst
    here = next((mark for mark in view.marks if mark.number == told.number and mark.size == size), None)
    move = moves.get(here.piece) if here is not None else None
    drawn: dict[str, Any] = {"at": None, "stretch": "", "ought": ""}
    if here is not None and move is not None:
        drawn = {
            "at": point(complex(move.apply(here.marked.at))),
            "stretch": _paths(here.marked.stretch, move),
            "ought": _paths(here.marked.ought, move),
        }
    edges = list(dict.fromkeys(edge.lstrip("-") for one in cause.findings for edge in one.edges))
    return {
        "number": told.number,
        "severity": told.severity,
        "title": str(headline(view, told)),
        "message": str(telling.describe(told.group)),
        "why": finding.why,
        "steps": [str(step) for step in telling.steps(cause)],
        "signs": [f"{short(sign.group, view)}: {telling.describe(sign.group)}" for sign in told.signs],
        "edges": edges,
        "size": finding.size,
        "accept": _acceptance(finding, file_sizes=len(view.file.sizes)),
        **drawn,
    }


def _paths(curves: Iterable[Curve], move: Affine) -> str:
    return "".join(pen.path(curve.transformed(move)) for curve in curves)


def _acceptance(finding: Finding, file_sizes: int) -> dict[str, str]:
    """What a plan names where it accepts a finding: the check and one code of it, and what it is about."""
    told = {"check": f"{finding.check}/{finding.code}"}
    if finding.seam:
        told["seam"] = finding.seam
    elif len(finding.edges) == 1:
        told["edge"] = finding.edges[0].lstrip("-")
    elif len(finding.pieces) == 1:
        told["piece"] = finding.pieces[0]
    if file_sizes > 1 and finding.size:
        told["size"] = finding.size
    return told
