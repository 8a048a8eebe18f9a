"""Corrections for what a check found: each tried, judged by the whole check, and offered only if it helps and harms nothing."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from seamcheck.amounts import Fact, fact
from seamcheck.engine.result import FileResult, Finding
from seamcheck.exact import most
from seamcheck.pattern.model import Piece
from seamcheck.truing.changes import named_corners
from seamcheck.truing.correction import Corner, Correction
from seamcheck.truing.lengths import is_slashed
from seamcheck.truing.mended import candidates
from seamcheck.truing.state import State
from seamcheck.truing.stray import Stray, strays
from seamcheck.truing.weigh import key, lowered, raised, weight

WORST = 0.01  # 1/mm: a line that has to bend more than this is not the same line any more (10 degrees over 12 mm)
ALIKE = 1.0  # tolerances: corrections that leave as much, within this, are alike good
STRAYS = 3.0  # mm: a line that strays farther than a correction asks for is not one that a hand would draw
ALIKE_STRAY = 0.8  # mm: 1/32 in; lines that differ in it by less stray alike
MARKS_MOVED = 0.05  # mm
ALIKE_BENT = 1e-5  # 1/mm
MOST = 24  # corrections to one size; more is a pattern to be drafted again


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternative:
    """A correction that helps: what to do, with its amounts as facts, what remains of all findings (as shares of tolerances), what it bends.

    `strays` are how far its new lines leave the old ones, or the old ones led on. `amount` is the mm by which corners are meant to
    travel, `across` by which a line that runs over a step has to leave it.
    """

    said: Fact
    pieces: tuple[str, ...]
    remains: float
    bending: float
    state: State
    strays: tuple[Stray, ...] = ()
    amount: float = 0.0
    across: float = 0.0
    marks: int = 0  # corners and notches that it moves
    elsewhere: bool = False  # away from the stretch in which the difference lies
    at: tuple[Corner, ...] = ()  # the corners that lie together where it is made; none where at several places
    as_planned: bool = False  # where the plan says that an edge gets back what a slash took
    followers: tuple[str, ...] = ()  # those of the pieces that only go along with the others

    @property
    def what(self) -> str:
        """What to do, in words."""
        return fact(self.said)

    @property
    def stray(self) -> float:
        """How far a new line leaves the old one, or the old one led on, at most; in mm."""
        return max((one.most for one in self.strays), default=0.0)

    @property
    def beyond(self) -> float:
        """How far a new line strays past what the correction asks of it; in mm."""
        return max((one.beyond(self.amount, self.across) for one in self.strays), default=0.0)


Offered = tuple[Correction, Alternative]


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


def true_up(state: State, wishes: Wishes, most: int = MOST) -> Truing:
    """Correct the worst finding first, then judge anew, until nothing is left that geometry can mend, or `most` corrections are made."""
    now, result = state, state.judged
    proposals: list[CorrectionProposal] = []
    hopeless: set[tuple[object, ...]] = set()
    tried_at = 0  # how many corrections there were when what was hopeless was tried anew
    while len(proposals) < most:
        open_ones = (f for f in result.findings if f.accepted is None and _is_sure(f))
        target = next((f for f in open_ones if _place(f) not in hopeless), None)
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


def _is_sure(finding: Finding) -> bool:
    """Whether something is off by more than it may be off: no line is redrawn for what is only uncertain."""
    return finding.measured is None or not finding.uncertainty or abs(finding.measured) > finding.uncertainty


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
    found: list[Offered] = []
    suspected = suspects(state, before)
    held = wishes.masters | (wishes.seam_masters or {}).get(target.seam or "", frozenset())
    for candidate in candidates(state, target):
        if set(candidate.pieces) & held or not _may_be_traced(candidate, wishes, suspected):
            continue
        made = candidate.make()
        if made is None or made[1] > WORST:
            continue
        new, bending = made
        after = new.judged
        if not lowered(target, before, after) or raised(before, after) is not None:
            continue
        alternative = Alternative(
            said=candidate.what,
            pieces=candidate.pieces,
            remains=weight(after.findings),
            bending=bending,
            state=new,
            strays=strays(state.pattern.pieces, new.pattern.pieces),
            amount=candidate.amount,
            across=candidate.across,
            marks=_marks_moved(state, new),
            elsewhere=candidate.elsewhere,
            at=tuple(sorted(candidate.at)),
            as_planned=candidate.as_planned,
            followers=candidate.followers,
        )
        if alternative.beyond <= STRAYS:
            found.append((candidate, alternative))
    found = _distinct(found)
    walk = next((walk for walk in state.walks if walk.name == target.seam), None)
    order = _Order(
        wishes=wishes,
        least=min((alternative.remains for _, alternative in found), default=0.0),
        known=any(candidate.at & wishes.moved for candidate, _ in found),
        slashed=walk is not None and is_slashed(state, before, walk),
        suspected=suspected,
    )
    found.sort(key=lambda pair: order.rank(*pair))
    return tuple(alternative for _, alternative in found)


def _may_be_traced(candidate: Correction, wishes: Wishes, suspected: Mapping[str, float]) -> bool:
    """A facing is traced from its band; a band from its facing only to undo what was done to the band and not to the facing."""
    if not candidate.from_inside:
        return True
    altered = wishes.altered or {piece for piece, marks in suspected.items() if marks}
    return bool(altered & set(candidate.pieces)) and not altered & set(candidate.from_inside)


def _distinct(found: Sequence[Offered]) -> list[Offered]:
    """Without those that draw the same lines as one before them."""
    kept: list[Offered] = []
    for one in found:
        if not any(
            one[1].strays
            and [s.edge for s in one[1].strays] == [s.edge for s in other[1].strays]
            and abs(one[1].bending - other[1].bending) < ALIKE_BENT
            and max(abs(a.most - b.most) for a, b in zip(one[1].strays, other[1].strays, strict=True)) < MARKS_MOVED
            for other in kept
        ):
            kept.append(one)
    return kept


def _marks_moved(before: State, after: State) -> int:
    """How many corners and notches lie elsewhere."""
    return sum(
        abs(old - new) > MARKS_MOVED
        for piece in before.pattern.pieces
        if after.pieces[piece.name] is not piece
        for old, new in zip(_marks(piece), _marks(after.pieces[piece.name]), strict=False)
    )


def _marks(piece: Piece) -> list[complex]:
    corners = [corner.at for corner in named_corners(piece).values()]
    return corners + [notch.at for edge in piece.edges for notch in edge.notches]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Order:
    """What alternatives for one finding are ordered by.

    `known` is whether it is known where the altered piece ends elsewhere than before, and `slashed` whether a slash took what is
    missing; `suspected` pieces look altered.
    """

    wishes: Wishes
    least: float
    known: bool
    slashed: bool
    suspected: Mapping[str, float]

    def rank(self, candidate: Correction, alternative: Alternative) -> tuple[object, ...]:
        """What hangs on an altered piece follows it; else the altered piece gives way, where the plan says so or where it was altered.

        Then what leaves least; then what is most likely altered; then what custom does first; then what strays least, and moves
        the fewest marks.
        """
        wishes = self.wishes
        trust = round(min(self.suspected.get(piece, 0.0) for piece in candidate.pieces), 1)
        return (
            not self._follows(candidate),
            len(set(candidate.pieces) - wishes.altered) if wishes.altered else 0,
            self.slashed and not self._is_planned(candidate),
            self.known and not candidate.at & wishes.moved,
            candidate.elsewhere and not self.slashed and not self.known,
            int((alternative.remains - self.least) / ALIKE),
            -trust,
            len(candidate.pieces),
            candidate.custom,
            int(alternative.beyond / ALIKE_STRAY),
            alternative.marks,
            round(alternative.beyond, 1),
            round(alternative.bending, 7),
        )

    def _is_planned(self, candidate: Correction) -> bool:
        """Whether a piece that was altered gets back what a slash took where the plan says so."""
        altered = self.wishes.altered or frozenset(piece for piece, marks in self.suspected.items() if marks)
        return candidate.as_planned and set(candidate.pieces) - set(candidate.followers) <= altered

    def _follows(self, candidate: Correction) -> bool:
        """Whether a correction lets strips follow what was altered, none of them altered itself."""
        if not candidate.leader:
            return False
        if self.wishes.altered:
            return bool(self.wishes.altered & set(candidate.leader)) and not self.wishes.altered & set(
                candidate.pieces
            )
        return not any(self.suspected.get(piece) for piece in candidate.pieces)


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
