"""Lines drawn anew: each proposal by itself on the pattern as it is now, taken one after the other, and taken back.

What is taken is written beside the original under a new name, and that file is written over or taken away only while it is as it was
written here. When the drawing or its plan changes, what was taken before is no part of what is tried from then on: the file that it was
written to is left, told of, and may still be taken back.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from seamcheck import amounts
from seamcheck.engine.causes import causes_of
from seamcheck.engine.read import read_whole
from seamcheck.errors import SeamcheckError
from seamcheck.geometry.curve import Affine
from seamcheck.report import pen, telling
from seamcheck.report.table.told import point
from seamcheck.truing.changes import changes
from seamcheck.truing.propose import CorrectionProposal, Truing, Wishes, letter, offers, true_up
from seamcheck.truing.run import TruedFile, altered_since, opened, wishes_of
from seamcheck.truing.stray import SEEN
from seamcheck.truing.writing import write_trued
from seamcheck.watch.job import content, digest

if TYPE_CHECKING:
    from seamcheck.engine.causes import Cause
    from seamcheck.engine.result import FileResult
    from seamcheck.engine.workspace import Shops
    from seamcheck.geometry.curve import Curve
    from seamcheck.truing.propose import Alternative
    from seamcheck.truing.state import State
    from seamcheck.truing.stray import Stray
    from seamcheck.watch.job import Job

    Taken = tuple[State, tuple[CorrectionProposal, ...]]  # a size as it is now, and what was taken to come there

MOST = 8  # causes for which new lines are tried
MOST_NAMES = 1000
AROUND = 8.0  # mm of paper that are shown round a place that strays
Moves = Mapping[str, Affine]  # from the file's axes to the sheet, by piece


@dataclass(frozen=True, slots=True)
class Step:
    """What was taken: in words, and how every size was before, with what had been taken in it."""

    words: str
    before: Mapping[str, Taken]


@dataclass(frozen=True, slots=True)
class Written:
    """A file that was written here, the digest of it, and what was taken in it, in words."""

    path: Path
    digest: str
    words: str

    @property
    def is_ours(self) -> bool:
        """Whether it is as it was written."""
        return digest(content(self.path)) == self.digest

    @property
    def stays(self) -> str:
        """Why it is not touched, in a sentence; "" where it is as it was written, or gone."""
        if self.is_ours or not self.path.exists():
            return ""
        return f"{self.path.name} was changed elsewhere since it was written, and stays as it is."


class Trying:
    """The new lines of one state of a pattern and its plan; `state` tells which."""

    def __init__(self, job: Job, shops: Shops, state: tuple[str, str], before: Trying | None = None) -> None:
        """Make every size ready; SeamcheckError where there is no plan to judge by. `before` is that of the state before."""
        self.state, self._job = state, job
        self._settings, self._registry = shops.tolerant(str(job.path))
        if content(job.plan) is None:
            raise SeamcheckError(
                "there is no seam plan yet, so nothing says which edges must true with which",
                path=str(job.path),
                remedy="sew its edges together first",
            )
        self._request = replace(job.request, plan=job.plan, before=None, sizes=())
        self._reading = read_whole(str(job.path), self._request, self._registry, self._settings)
        assert self._reading.plan is not None
        self._wishes = self._altered(wishes_of(self._reading.plan))
        self._first: dict[str, State] = {
            size: opened(self._reading, size, self._registry, self._settings, job.request.allowance)
            for size in self._reading.pattern.sizes
        }
        self._now: dict[str, Taken] = {size: (one, ()) for size, one in self._first.items()}
        self._steps: list[Step] = []
        self._offered: dict[str, list[tuple[Cause, FileResult, tuple[Alternative, ...]]]] = {}
        self._written: Written | None = None
        self._left: list[Written] = [] if before is None else [*before._left, *filter(None, [before._written])]

    def _altered(self, wishes: Wishes) -> Wishes:
        """What changed against the earlier file gives way, where one was named."""
        before = self._job.request.before
        if before is None:
            return wishes
        from seamcheck.engine.read import read_both

        _, comparison = read_both(
            str(before), str(self._job.path), replace(self._request, before=before), self._registry, self._settings
        )
        return altered_since(comparison, wishes)

    def proposals(self, size: str, moves: Moves) -> dict[str, Any]:
        """What may be drawn anew in a size, each by itself, and what is taken already."""
        size = size if size in self._now else next(iter(self._now))
        if size not in self._offered:
            self._offered[size] = list(self._offers(size))
        self._left = [one for one in self._left if one.path.exists()]
        found = [self._told(number, one, moves) for number, one in enumerate(self._offered[size])]
        first, now = self._first[size], self._now[size][0]
        redrawn = [piece for piece in now.pattern.pieces if first.pieces[piece.name] is not piece]
        return {
            "proposals": found,
            "taken": [step.words for step in self._steps],
            "written": "" if self._written is None else self._written.path.name,
            "left": [
                f"{one.path.name} holds what was taken before the drawing or its plan changed: {one.words}. It is not in what is proposed now."
                for one in self._left
            ],
            "said": _said(now.judged, len(found)),
            "did": "",
            "old": [_path(first.pieces[one.name].outline, moves[one.name]) for one in redrawn if one.name in moves],
            "now": [_path(one.outline, moves[one.name]) for one in redrawn if one.name in moves],
        }

    def _offers(self, size: str) -> Iterator[tuple[Cause, FileResult, tuple[Alternative, ...]]]:
        state = self._now[size][0]
        result = state.judged
        for cause in [one for one in causes_of(result) if one.counts][:MOST]:
            for target in cause.findings:
                found = offers(state, result, target, self._wishes)
                if found:
                    yield cause, result, found
                    break

    def _told(
        self, number: int, offered: tuple[Cause, FileResult, tuple[Alternative, ...]], moves: Moves
    ) -> dict[str, Any]:
        cause, result, found = offered
        title = (telling.named(cause, result), telling.amount(cause), telling.near(cause))
        return {
            "finding": number,
            "severity": cause.severity.value,
            "title": ", ".join(amounts.fact(part) for part in title if part != ""),
            "message": str(telling.describe(cause.head)),
            "ways": [_way(k, one, moves) for k, one in enumerate(found)],
        }

    def take(self, size: str, number: int, which: str, moves: Moves) -> dict[str, Any]:
        """Take one way of one proposal: the trued file is written with it."""
        self.proposals(size, moves)
        offered = self._offered.get(size, [])
        if not 0 <= number < len(offered):
            raise SeamcheckError("this is not proposed any more", path=str(self._job.path), remedy="choose again")
        cause, _, found = offered[number]
        chosen = next((k for k in range(len(found)) if letter(k) == which), None)
        if chosen is None:
            raise SeamcheckError("this is not proposed any more", path=str(self._job.path), remedy="choose again")
        proposal = CorrectionProposal(finding=cause.worst, alternatives=found, taken=chosen)
        words = found[chosen].what if len(self._now) == 1 else f"{found[chosen].what} in size {size}"
        did = self._step(words, {size: (found[chosen].state, (*self._now[size][1], proposal))})
        return {**self.proposals(size, moves), "did": did}

    def take_all(self, size: str, moves: Moves) -> dict[str, Any]:
        """Take the first way of each proposal, in every size, each tried on what was taken before it."""
        new = {}
        for one, (state, taken) in self._now.items():
            trued = true_up(state, self._wishes)
            new[one] = trued.after, (*taken, *trued.proposals)
        count = sum(len(taken) - len(self._now[one][1]) for one, (_, taken) in new.items())
        did = self._step(f"{amounts.count(count, 'correction')} at once", new)
        return {**self.proposals(size, moves), "did": did}

    def take_back(self, size: str, moves: Moves) -> dict[str, Any]:
        """Take back what was taken last; with the first of all, the file that was written goes too, if nobody else has changed it."""
        if self._steps:
            did = self._back()
        elif self._left:
            did = self._away(self._left[-1])
            self._left.pop()
        else:
            raise SeamcheckError("nothing is taken that could be taken back", path=str(self._job.path))
        return {**self.proposals(size, moves), "did": did}

    def _back(self) -> str:
        """Take back the last step; what was done, in words."""
        step, before, there = self._steps.pop(), dict(self._now), self._written
        assert there is not None
        self._now |= step.before
        self._offered.clear()
        try:
            if not self._steps:
                did = self._away(replace(there, words=step.words))
                self._written = None
                return did
            stays, new = self._write()
        except SeamcheckError:
            self._now = before
            self._steps.append(step)
            raise
        if stays:
            return f"Taken back: {step.words}. {stays} What else was taken is written to {new.path.name}."
        return f"Taken back: {step.words}. {new.path.name} is written without it."

    @staticmethod
    def _away(there: Written) -> str:
        """Take a file away that was written here; what was done, in words."""
        name = there.path.name
        if there.stays:
            return f"{there.stays} It still holds what was taken: {there.words}."
        if not there.path.exists():
            return f"Taken back: {there.words}. {name} was gone already."
        try:
            there.path.unlink()
        except OSError as error:
            why = (error.strerror or str(error)).lower()
            raise SeamcheckError(
                f"cannot be taken away ({why})", path=str(there.path), remedy="take it away yourself"
            ) from None
        return f"Taken back: {there.words}. {name} is taken away."

    def _step(self, words: str, new: Mapping[str, Taken]) -> str:
        """Take a step; what was done, in words."""
        before = {size: self._now[size] for size in new}
        self._now |= new
        self._steps.append(Step(words, before))
        self._offered.clear()
        try:
            stays, written = self._write()
        except SeamcheckError:
            self._now |= before
            self._steps.pop()
            raise
        return f"Taken, and written to {written.path.name}: {words}. {stays}".rstrip()

    def trued(self) -> TruedFile:
        """The file with what was taken."""
        sizes = tuple(
            Truing(before=self._first[size], after=state, proposals=taken, left=state.judged)
            for size, (state, taken) in self._now.items()
        )
        return TruedFile(
            path=str(self._job.path),
            reading=self._reading,
            sizes=sizes,
            changes=tuple(one for each in sizes for one in changes(each.before, each.after)),
            notes=(),
        )

    def _write(self) -> tuple[str, Written]:
        """Write what is taken; why another file is written than before, if it is, and what was written."""
        there = self._written
        ours, stays = there is not None and there.is_ours, "" if there is None else there.stays
        target = there.path if there is not None and ours else self._free()
        write_trued(self.trued(), str(target), self._request, self._registry, self._settings, force=ours)
        words = "; ".join(step.words for step in self._steps)
        self._written = Written(target, digest(content(target)), words)
        return stays, self._written

    def _free(self) -> Path:
        path = self._job.path
        names = (f"{path.stem}-trued{'' if k == 1 else f'-{k}'}{path.suffix}" for k in range(1, MOST_NAMES))
        found = next((one for name in names if not (one := path.with_name(name)).exists()), None)
        if found is None:
            raise SeamcheckError(
                "too many trued files lie beside it", path=str(path), remedy="take the old ones away"
            )
        return found


def _said(result: FileResult, found: int) -> str:
    left = sum(cause.counts for cause in causes_of(result))
    if not left:
        return "Nothing is left to put right."
    if not found:
        return f"{amounts.count(left, 'thing')} left that a new line does not mend: put it right in the drawing."
    return f"{amounts.count(found, 'proposal')}. Each was tried, and judged by the whole check, before it is shown."


def _way(number: int, one: Alternative, moves: Moves) -> dict[str, Any]:
    edges = [(stray, *stray.edge.partition(".")[::2]) for stray in one.strays]
    runs = [
        (run, moves[piece])
        for _, piece, edge in edges
        if piece in moves
        for run in one.state.pieces[piece].edge(edge).runs
    ]
    marks = [
        (complex(moves[piece].apply(stray.at)), amounts.millimetres(stray.most))
        for stray, piece, _ in edges
        if piece in moves and stray.most > SEEN
    ]
    boxes = [(at.real - AROUND, at.imag - AROUND, at.real + AROUND, at.imag + AROUND) for at, _ in marks]
    boxes = boxes or [run.transformed(move).bounds() for run, move in runs]
    what = one.what
    return {
        "letter": letter(number),
        "what": what[:1].upper() + what[1:],
        "strays": "; ".join(_strays(stray) for stray, _, _ in edges) + "." if edges else "No line is drawn anew.",
        "followers": list(one.followers),
        "lines": [_path(run, move) for run, move in runs],
        "marks": [[*point(at), much] for at, much in marks],
        "box": [
            min(b[0] for b in boxes),
            min(b[1] for b in boxes),
            max(b[2] for b in boxes),
            max(b[3] for b in boxes),
        ]
        if boxes
        else None,
    }


def _strays(stray: Stray) -> str:
    if stray.most <= SEEN:
        return f"{stray.edge} strays nowhere from its line"
    return f"{stray.edge} strays {amounts.length(stray.most)}{' with its corner' if stray.travels else ''}"


def _path(curve: Curve, move: Affine) -> str:
    return pen.path(curve.transformed(move))
