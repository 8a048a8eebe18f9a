"""Corrections for what a check found: each tried, judged by the whole check, and offered only if it helps and harms nothing."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from seamcheck.engine.result import FileResult, Finding
from seamcheck.exact import most
from seamcheck.pattern.model import Piece
from seamcheck.truing.correction import Correction
from seamcheck.truing.mends import candidates
from seamcheck.truing.state import State
from seamcheck.truing.stray import Stray, strays
from seamcheck.truing.weigh import key, lowered, raised, weight

WORST = 0.01  # 1/mm: a line that has to bend more than this is not the same line any more (10 degrees over 12 mm)
ALIKE = 1.0  # tolerances: corrections that leave as much, within this, are alike good
STRAYS = 3.0  # mm: a line that strays farther than a correction asks for is not one that a hand would draw
MARKS_MOVED = 0.05  # mm
MOST = 24  # corrections to one size; more is a pattern to be drafted again


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternative:
    """A correction that helps: what to do, what remains of all findings (as shares of tolerances), what it bends.

    `strays` are how far its new lines leave the old ones, or the old ones led on, and `amount` is the mm by which corners are
    meant to travel.
    """

    what: str
    pieces: tuple[str, ...]
    remains: float
    bending: float
    state: State
    strays: tuple[Stray, ...] = ()
    amount: float = 0.0
    marks: int = 0  # corners and notches that it moves

    @property
    def stray(self) -> float:
        """How far a new line leaves the old one, or the old one led on, at most; in mm."""
        return max((one.most for one in self.strays), default=0.0)

    @property
    def beyond(self) -> float:
        """How far a new line strays past what the correction asks of it; in mm."""
        return max((one.beyond(self.amount) for one in self.strays), default=0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class CorrectionProposal:
    """A finding and what puts it right; `taken` is the number of the alternative that the next ones build on."""

    finding: Finding
    alternatives: tuple[Alternative, ...]
    taken: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Truing:
    """One size trued: the proposals in order, the pattern after them, and what is left."""

    before: State
    after: State
    proposals: tuple[CorrectionProposal, ...]
    left: FileResult


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """Who gives way: `altered` pieces before others, and at the corners that `moved` against an earlier file; `masters` never.

    `choices` are numbers of alternatives, from 0, by the number of the proposal, from 0.
    """

    altered: frozenset[str] = frozenset()
    moved: frozenset[tuple[str, str]] = frozenset()
    masters: frozenset[str] = frozenset()
    seam_masters: Mapping[str, frozenset[str]] | None = None
    choices: Mapping[int, int] | None = None


def true_up(state: State, wishes: Wishes) -> Truing:
    """Correct the worst finding first, then judge anew, until nothing is left that geometry can mend."""
    now, result = state, state.judged
    proposals: list[CorrectionProposal] = []
    hopeless: set[tuple[object, ...]] = set()
    tried_at = 0  # how many corrections there were when what was hopeless was tried anew
    while len(proposals) < MOST:
        target = next((f for f in result.findings if f.accepted is None and _place(f) not in hopeless), None)
        if target is None:
            if not hopeless or tried_at == len(proposals):
                break
            # What could not be drawn before may be now: a length on a line that has been blended since.
            hopeless, tried_at = set(), len(proposals)
            continue
        offered = offers(now, result, target, wishes)
        if not offered:
            hopeless.add(_place(target))
            continue
        wanted = (wishes.choices or {}).get(len(proposals), 0)
        taken = wanted if wanted < len(offered) else 0
        proposals.append(CorrectionProposal(finding=target, alternatives=offered, taken=taken))
        now = offered[taken].state
        result = now.judged
    return Truing(before=state, after=now, proposals=tuple(proposals), left=result)


def letter(number: int) -> str:
    """The letter of an alternative: a, b, c ... and z for all beyond."""
    return "abcdefghijklmnopqrstuvwxyz"[min(number, 25)]


def choices(words: Iterable[str]) -> dict[int, int]:
    """The alternatives that are asked for: "2b" is the second of proposal 2, numbers from 0; ValueError for other words."""
    found = {}
    for word in words:
        match = re.fullmatch(r"([1-9]\d*)([a-z])", word.strip().lower())
        if match is None:
            raise ValueError(
                f'"{word}" names no alternative; write the number of the proposal and a letter, such as 2b'
            )
        found[int(match[1]) - 1] = ord(match[2]) - ord("a")
    return found


def _place(finding: Finding) -> tuple[object, ...]:
    at = finding.at
    return (*key(finding), finding.code, None if at is None else (round(at.real), round(at.imag)))


def offers(state: State, before: FileResult, target: Finding, wishes: Wishes) -> tuple[Alternative, ...]:
    """The alternatives for one finding that lower it and raise nothing else, the best first."""
    found: list[tuple[Correction, Alternative]] = []
    held = wishes.masters | (wishes.seam_masters or {}).get(target.seam or "", frozenset())
    for candidate in candidates(state, target):
        if set(candidate.pieces) & held:
            continue
        made = candidate.make()
        if made is None or made[1] > WORST:
            continue
        new, bending = made
        after = new.judged
        if not lowered(target, before, after) or raised(before, after) is not None:
            continue
        alternative = Alternative(
            what=candidate.what,
            pieces=candidate.pieces,
            remains=weight(after.findings),
            bending=bending,
            state=new,
            strays=strays(state.pattern.pieces, new.pattern.pieces),
            amount=candidate.amount,
            marks=_marks_moved(state, new),
        )
        if alternative.beyond <= STRAYS:
            found.append((candidate, alternative))
    least = min((alternative.remains for _, alternative in found), default=0.0)
    suspected = suspects(state, before)
    slashed = is_slashed(before, target)
    found.sort(key=lambda pair: _rank(pair[0], pair[1], least, wishes, slashed, suspected))
    return tuple(alternative for _, alternative in found)


def _marks_moved(before: State, after: State) -> int:
    """How many corners and notches lie elsewhere."""
    return sum(
        abs(old - new) > MARKS_MOVED
        for piece in before.pattern.pieces
        if after.pieces[piece.name] is not piece
        for old, new in zip(_marks(piece), _marks(after.pieces[piece.name]), strict=False)
    )


def _marks(piece: Piece) -> list[complex]:
    return [corner.at for corner in piece.corners] + [notch.at for edge in piece.edges for notch in edge.notches]


def _rank(
    candidate: Correction,
    alternative: Alternative,
    least: float,
    wishes: Wishes,
    slashed: bool,
    suspected: Mapping[str, float],
) -> tuple[object, ...]:
    """The altered piece gives way first, where it was altered; then what leaves least; then what is most likely altered; then what
    custom does first; then what strays least, and moves the fewest marks.

    A strip that hangs on what was altered follows it before that.
    """
    unaltered = len(set(candidate.pieces) - wishes.altered) if wishes.altered else 0
    trust = round(min(suspected.get(piece, 0.0) for piece in candidate.pieces), 1)
    return (
        unaltered,
        candidate.at not in wishes.moved if wishes.moved else False,
        candidate.elsewhere and not slashed,
        int((alternative.remains - least) / ALIKE),
        -trust,
        len(candidate.pieces),
        candidate.custom,
        round(alternative.beyond, 1),
        alternative.marks,
        round(alternative.bending, 7),
    )


def is_slashed(result: FileResult, target: Finding) -> bool:
    """Whether a piece of a seam bears the traces of a slash that was hinged: what it took is given back where custom gives it back."""
    return any(
        one.check == "edge-blend" and set(one.pieces) & set(target.pieces) for one in result.findings
    )


def suspects(state: State, result: FileResult) -> dict[str, float]:
    """How much on each piece looks like an alteration: findings that are its alone, corners that are not as their mates'."""
    found: dict[str, float] = {}
    for finding in result.findings:
        if len(finding.pieces) == 1 and finding.check in ("edge-blend", "grain-straight", "dart-mouth", "dart-legs"):
            found[finding.pieces[0]] = found.get(finding.pieces[0], 0.0) + 1.0
    for junction in state.graph.junctions:
        off = max(abs(junction.angle - junction.expected) - junction.uncertainty, 0.0)
        if off > 1.75 and len(junction.corners) > 1:
            fair = junction.expected / len(junction.corners)
            worst = most(zip(junction.corners, junction.angles, strict=True), key=lambda pair: abs(pair[1] - fair))
            found[worst[0][0]] = found.get(worst[0][0], 0.0) + 1.0
    return found
