"""What `true` proposes, for a person and for a program."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from seamcheck import amounts
from seamcheck.amounts import count
from seamcheck.engine.report_format import RenderOptions
from seamcheck.report import telling
from seamcheck.report.cautions import CAUTIONS
from seamcheck.report.json import dump
from seamcheck.report.layout import headline, wrap
from seamcheck.truing.changes import NOTCH_MOVED
from seamcheck.truing.propose import letter
from seamcheck.truing.stray import SEEN

if TYPE_CHECKING:
    from seamcheck.engine.result import Finding
    from seamcheck.truing.changes import TruedPiece
    from seamcheck.truing.propose import CorrectionProposal
    from seamcheck.truing.run import TruedFile
    from seamcheck.truing.stray import Stray

SCHEMA = "seamcheck.true/1"
MOST = 6  # alternatives that are told of one proposal


def render_text(trued: TruedFile, options: RenderOptions, written: str | None) -> str:
    """The proposals one after the other, then what was drawn anew and what remains."""
    return "\n\n".join([*_paragraphs(trued, options, written)]) + "\n"


def _paragraphs(trued: TruedFile, options: RenderOptions, written: str | None) -> Iterator[str]:
    proposals = [(one, proposal) for one in trued.sizes for proposal in one.proposals]
    left = trued.left
    verdict = f"{trued.path}: "
    verdict += f"{count(len(proposals), 'correction')} proposed" if proposals else "no correction is proposed"
    if left:
        verdict += f"; {count(len(left), 'thing')} left that a redrawn line does not mend"
    else:
        verdict += "; with them nothing is left to put right" if proposals else "; there is nothing to put right"
    lax = dict.fromkeys(part for one in trued.sizes for part in telling.laxer(one.left))
    yield headline("; ".join([verdict, *lax]), "error" if left else "good", options)
    for failure in trued.failures:
        yield wrap(f"Not judged: {failure.where_named(trued.path)}", options, hanging="  ")
    several = len(trued.sizes) > 1
    for one in trued.sizes:
        for number, proposal in enumerate(one.proposals, 1):
            yield "\n".join(_proposal(number, proposal, one.before.size if several else "", options))
    drawn = [line for change in trued.changes for line in _change(change, several, options)]
    if drawn:
        head = "Drawn anew. A line strays from the old one, or from the old one led on past its end:"
        yield "\n".join([wrap(head, options), *drawn])
    for finding in left:
        yield wrap(f"Left: {finding.message} [{finding.check}/{finding.code}]", options, hanging="  ")
    for note in trued.notes:
        yield wrap(f"Note: {note.message}", options, hanging="  ")
    if written:
        kept = (
            'The lines that were replaced are kept there under "before truing".' if drawn else "Nothing is changed."
        )
        yield wrap(f"Written to {written}. {kept}", options, hanging="  ")
    yield "\n".join(wrap(caution, options) for caution in CAUTIONS)


def _proposal(number: int, proposal: CorrectionProposal, size: str, options: RenderOptions) -> Iterator[str]:
    finding = proposal.finding
    place = f"size {size}: " if size else ""
    yield wrap(f"{number}. {place}{finding.message} [{finding.check}/{finding.code}]", options, hanging="   ")
    told = proposal.alternatives[:MOST]
    order = [proposal.taken, *(k for k in range(len(told)) if k != proposal.taken)]
    for k in order:
        word = "Do" if k == proposal.taken else "or"
        what = proposal.alternatives[k].what
        yield wrap(
            f"{word} ({letter(k)}): {what[:1].upper() if word == 'Do' else what[:1]}{what[1:]}."
            f"{_strays(proposal.alternatives[k].strays)}",
            options,
            indent="   ",
            hanging="      ",
        )
    more = len(proposal.alternatives) - len(told)
    if more > 0:
        yield f"   and {count(more, 'other way', 'other ways')}."


def _strays(strays: Sequence[Stray]) -> str:
    """How far new lines leave the old ones, or the old ones led on."""
    told = [f"{one.edge} {_stray(one)}" for one in strays if one.most > SEEN]
    if told:
        return f" Strays: {', '.join(told)}."
    return " Strays nowhere." if strays else ""


def _stray(stray: Stray) -> str:
    return f"{amounts.millimetres(stray.most)}{' with its corner' if stray.travels else ''}"


def _change(change: TruedPiece, several: bool, options: RenderOptions) -> Iterator[str]:
    name = f"{change.piece} ({change.size})" if several else change.piece
    parts = [
        f"{corner.name} moved {amounts.length(abs(corner.after - corner.before))}"
        for corner in change.corners
        if abs(corner.after - corner.before) > 0.05
    ]
    parts += [
        f"angle at {corner.name} {corner.angles[0]:.1f}° to {corner.angles[1]:.1f}°"
        for corner in change.corners
        if abs(corner.angles[1] - corner.angles[0]) > 0.05
    ]
    parts += [
        f"{edge.name} {_lengths(*edge.lengths)}, strays {_stray(edge.stray) if edge.stray.most > SEEN else 'nowhere'}"
        for edge in change.edges
    ]
    parts += [
        f"a notch on {notch.edge} moved {amounts.length(notch.moved)} along the line, to {notch.stations[1]:.1f} mm from its start"
        for notch in change.notches
        if notch.moved > NOTCH_MOVED
    ]
    if change.grain is not None:
        parts.append("grain arrow ruled straight")
    yield wrap(f"{name}: {'; '.join(parts)}.", options, indent="  ", hanging="    ")


def _lengths(before: float, after: float) -> str:
    if abs(after - before) < 0.05:
        return f"{after:.1f} mm as before"
    return f"{before:.1f} to {after:.1f} mm"


def render_json(trued: TruedFile, options: RenderOptions, written: str | None) -> str:
    """The same as one JSON object, schema `seamcheck.true/1`; mm and degrees."""
    return dump(
        {
            "schema": SCHEMA,
            "path": trued.path,
            "written": written,
            "proposals": [
                {
                    "number": number,
                    "size": one.before.size,
                    "finding": _finding(proposal.finding),
                    "taken": letter(proposal.taken),
                    "alternatives": [
                        {
                            "letter": letter(k),
                            "what": a.what,
                            "pieces": a.pieces,
                            "remains": float(a.remains),
                            "bending": float(a.bending),
                            "stray": float(a.stray),
                            "beyond": float(a.beyond),
                            "amount": float(a.amount),
                            "strays": [_stray_json(one) for one in a.strays],
                            "at": [f"{piece}.{corner}" for piece, corner in a.at],
                            "marks": a.marks,
                        }
                        for k, a in enumerate(proposal.alternatives)
                    ],
                }
                for one in trued.sizes
                for number, proposal in enumerate(one.proposals, 1)
            ],
            "changes": [_change_json(change) for change in trued.changes],
            "left": [_finding(finding) for finding in trued.left],
            "failures": trued.failures,
            "notes": [{"code": note.code, "message": note.message} for note in trued.notes],
        }
    )


def _finding(finding: Finding) -> dict[str, object]:
    return {
        "check": finding.check,
        "code": finding.code,
        "severity": finding.severity.value,
        "seam": finding.seam,
        "pieces": finding.pieces,
        "edges": finding.edges,
        "measured": None if finding.measured is None else float(finding.measured),
        "at": finding.at,
        "message": finding.message,
    }


def _stray_json(stray: Stray) -> dict[str, object]:
    return {"edge": stray.edge, "most": float(stray.most), "ends": float(stray.ends), "at": stray.at}


def _change_json(change: TruedPiece) -> dict[str, object]:
    return {
        "piece": change.piece,
        "size": change.size,
        "corners": [
            {"name": c.name, "before": c.before, "after": c.after, "angles": [float(a) for a in c.angles]}
            for c in change.corners
        ],
        "edges": [
            {
                "name": e.name,
                "lengths": [float(x) for x in e.lengths],
                "beside": float(e.stray.most),
                "ends": float(e.stray.ends),
            }
            for e in change.edges
        ],
        "notches": [
            {
                "edge": n.edge,
                "stations": [float(s) for s in n.stations],
                "moved": float(n.moved),
                "before": n.at[0],
                "after": n.at[1],
            }
            for n in change.notches
        ],
        "grain": None if change.grain is None else [float(a) for a in change.grain],
    }


RENDERERS: Mapping[str, Callable[[TruedFile, RenderOptions, str | None], str]] = {
    "text": render_text,
    "json": render_json,
}
