"""What only the sheet as a whole can settle: sizes and names of its pieces, and what was told by form alone."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from seamcheck.pattern.drawing import Note, Role
from seamcheck.pattern.model import UNSIZED, OpenOutline
from seamcheck.pattern.words import role_in
from seamcheck.pieces.nesting import ClosedLine
from seamcheck.pieces.sample_size import notches_as_in

if TYPE_CHECKING:
    from seamcheck.pieces.outline import Shape


@dataclass(slots=True)
class Made:
    """A shape with what only the sheet as a whole can settle."""

    shape: Shape
    line: ClosedLine
    longer_name: str  # for when another piece has the same name
    guesses: Counter[str]  # closed lines within it that only their form tells, by what they were taken for
    apart: float = 0.0  # mm between sew line and cut line, when only their form tells


@dataclass(slots=True)
class Group:
    """What was made of one group of marks."""

    made: list[Made] = field(default_factory=list)
    opened: list[OpenOutline] = field(default_factory=list)
    notes: list[Note] = field(default_factory=list)
    used: set[int] = field(default_factory=set)  # marks that went into shapes or open outlines, by identity
    overlaps: int = 0  # pairs of segments of the same line that lie over one another, in all groups so far
    aside: list[tuple[ClosedLine, str]] = field(default_factory=list)
    squares: list[ClosedLine] = field(default_factory=list)  # test squares that are drawn of loose lines


def settle_size(whole: Group) -> None:
    """Where the file writes one size on some of its pieces, all are in it, and so are the outlines left open."""
    written = {one.shape.size for one in whole.made} - {UNSIZED}
    if len(written) == 1:
        (size,) = written
        for one in whole.made:
            one.shape = replace(one.shape, size=size)
        whole.opened = [replace(line, size=size) for line in whole.opened]


def settle_names(made: Sequence[Made]) -> None:
    """Numbers for pieces without a name and for namesakes in one size; namesakes first get all of their name."""
    alike: dict[tuple[str, str], list[Made]] = {}
    for one in made:
        alike.setdefault((one.shape.size, one.shape.name.casefold()), []).append(one)
    for group in alike.values():
        if len(group) > 1 and len({one.longer_name.casefold() for one in group} - {""}) == len(group):
            for one in group:
                one.shape = replace(one.shape, name=one.longer_name)
    taken: set[tuple[str, str]] = set()
    for number, one in enumerate(made, 1):
        name = unique = one.shape.name or f"piece {number}"
        count = 1
        while (one.shape.size, unique.casefold()) in taken:
            count += 1
            unique = f"{name} {count}"
        taken.add((one.shape.size, unique.casefold()))
        one.shape = replace(one.shape, name=unique)


def fold_notes(made: Sequence[Made]) -> list[Note]:
    """What is cut on the fold by its words, and shows no fold."""
    silent = [
        one.shape.name
        for one in made
        if not one.shape.folds and any(role_in(text) is Role.FOLD for text in one.shape.texts)
    ]
    if not silent:
        return []
    message = (
        f"{_some(list(dict.fromkeys(silent)))}: the words say that it is cut on the fold, and not along which edge. Draw the fold line "
        'with the label "fold", or write "place on fold" along that edge.'
    )
    return [Note("fold-not-shown", message)]


def settle_notches(made: Sequence[Made], sample: str) -> None:
    """Which notches count together is decided in the sample size: two that draw near in a small size stay two."""
    sizes: dict[str, list[Made]] = {}
    for one in made:
        sizes.setdefault(one.shape.name.casefold(), []).append(one)
    for alike in sizes.values():
        base = next((one for one in alike if one.shape.size.casefold() == sample.casefold()), alike[0])
        for one in alike:
            if one is not base:
                shape = one.shape
                one.shape = replace(shape, notches=notches_as_in(base.shape.notches, shape.notches, shape.outline))


def guess_notes(whole: Group) -> list[Note]:
    """What was told by its form alone, so that a reader can put it right."""
    notes = []
    pairs = [f"{one.shape.name} ({one.apart:.1f} mm apart)" for one in whole.made if one.apart]
    if pairs:
        notes.append(
            Note(
                "sew-line-assumed",
                f"Of two closed lines that run side by side the inner one is taken for the sew line: {_some(pairs)}. "
                'Label them "sew line" and "cut line" if that is wrong.',
            )
        )
    kinds = {
        "hole": "a hole; label it if it is a placement line",
        "placement line": 'a placement line; label it "cutout" if it is a hole',
        "perhaps sew line": "no sew line, though it runs at an allowance's distance for half of its way or more; label it "
        '"sew line" if it is one',
        "allowance strip": "the allowance of an edge; label it with a name if it is a piece",
        "second outline": "the outline drawn a second time; delete one of the two",
    }
    for kind, told in kinds.items():
        names = [_times(one.shape.name, one.guesses[kind]) for one in whole.made if one.guesses[kind]]
        if names:
            notes.append(
                Note(
                    f"{kind.replace(' ', '-')}-assumed",
                    f"A closed line inside a piece is taken for {told}: {_some(names)}.",
                )
            )
    for what in dict.fromkeys(what for _, what in whole.aside):
        places = [str(one.mark.place) for one, is_what in whole.aside if is_what == what]
        notes.append(
            Note(
                "not-a-piece",
                f"Not taken for a piece: {what} ({_some(places)}). Label it with a name if it is one.",
            )
        )
    return notes


def _times(name: str, count: int) -> str:
    return name if count == 1 else f"{name} ({count} times)"


def _some(items: Sequence[str], most: int = 6) -> str:
    rest = f" and {len(items) - most} more" if len(items) > most else ""
    return ", ".join(items[:most]) + rest
