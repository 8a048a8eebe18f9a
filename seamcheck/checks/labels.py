"""Checks on what is written on a piece.

A label is missing only where half of the pieces carry it, or where the shop sets a severity for it: bare drawings
stay quiet.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from typing import TYPE_CHECKING

from seamcheck.amounts import Name
from seamcheck.checks.base import Check, Code, Context, LookedAt, Observation, Severity, Skip

if TYPE_CHECKING:
    from seamcheck.pattern.model import Piece

SAME = 0.005  # of length and area: how nearly two outlines must agree to be one piece drawn twice
USUAL = 0.5  # share of the pieces that carry a label from where on it is missing on the others
NUMBERS = {"one": 1, "two": 2, "four": 4, "pair": 2, "a pair": 2}


_KINDS = ("name", "size", "quantity")


def _carries(piece: Piece, kind: str, common: Collection[str]) -> bool:
    """Whether words on the piece tell its name (the style's does not count), or the file's own record of it."""
    from seamcheck.pattern.names import is_name

    if kind == "name":
        return "annotation" in piece.labels or any(
            (is_name(text) and _plain(text) not in common) or _plain(text) == _plain(piece.in_file)
            for text in piece.texts
        )
    return kind in piece.labels


def _common(pieces: Sequence[Piece]) -> set[str]:
    """What is written on at least half of several pieces: the style, the size, not a piece's name."""
    counts = Counter(words for piece in pieces for words in {_plain(text) for text in piece.texts})
    return {words for words, count in counts.items() if count > 1 and count >= USUAL * len(pieces)}


def _plain(text: str) -> str:
    return " ".join(text.split()).casefold()


def _labels(context: Context) -> Iterator[Observation | LookedAt | Skip]:
    pieces = list(context.pieces.values())
    judged = False
    common = _common(pieces)
    for kind in _KINDS:
        with_it = [piece for piece in pieces if _carries(piece, kind, common)]
        asked = context.settings.severity("labels", kind) not in (None, "off")
        if not asked and (not with_it or len(with_it) < USUAL * len(pieces)):
            continue
        judged = True
        for piece in pieces:
            if all(piece is not one and not _is_copy(piece, one) for one in with_it):
                yield Observation(
                    code=kind, at=_middle(piece), pieces=(piece.name,), facts={"piece": Name(piece.name)}
                )
    if not judged:
        yield Skip(reason="no-labels", why="the pieces carry no name, size or cut quantity in words")
    for piece in pieces:
        yield from _against_plan(piece, context)
        yield LookedAt(piece=piece.name)


def _is_copy(piece: Piece, other: Piece) -> bool:
    """Whether one piece is drawn a second time: what is written on the first goes for both."""
    here, there = piece.drawn, other.drawn
    return abs(here.length - there.length) <= SAME * there.length and abs(
        abs(here.signed_area()) - abs(there.signed_area())
    ) <= SAME * abs(there.signed_area())


def _against_plan(piece: Piece, context: Context) -> Iterator[Observation]:
    """The written cut quantity beside the one in the plan."""
    planned = next((one for one in context.plan.pieces if one.name == piece.name), None) if context.plan else None
    written = piece.labels.get("quantity", "").strip().casefold()
    count = int(written) if written.isdecimal() else NUMBERS.get(written)
    if planned is None or count is None:
        return
    meant = {"pair": 2, "one": 1, "fold": 1}.get(str(planned.cut)) or int(planned.cut)
    # Linings and facings are cut of the same piece again, and "cut 1 pair" is two.
    if count % meant and not (planned.cut == "pair" and count == 1 and _says_pair(piece)):
        yield Observation(
            code="quantity-differs",
            at=_middle(piece),
            pieces=(piece.name,),
            facts={"piece": Name(piece.name), "written": count, "planned": meant},
        )


def _says_pair(piece: Piece) -> bool:
    words = " ".join(piece.texts).casefold()
    return any(word in words for word in ("pair", "paar", "paire", "par ", "paio", "mirror", "gegengleich"))


def _middle(piece: Piece) -> complex:
    x0, y0, x1, y1 = piece.outline.bounds()
    return complex((x0 + x1) / 2, (y0 + y1) / 2)


LABELS = Check(
    name="labels",
    family="labels",
    meaning="name, size and cut quantity are written on every piece, where the pattern writes them on its pieces",
    why="A piece without its name, size or number is laid in the wrong place, cut once instead of twice, or mixed up with its "
    "neighbour in another size. The grain is looked at by grain-present.",
    remedy="Write on every piece: the style and its version, the piece's name, the size, how often it is cut and of which cloth.",
    source="what belongs on a piece: sewcraftful.com, Drafters corner; couture-hacker.com, What information do you need to write on a "
    "pattern; judged only where half of the pieces carry it: our own limit, so that bare drawings stay quiet",
    codes=(
        Code(
            name="name",
            meaning="the piece does not say what it is",
            message="{piece}: its name is not written on it, as it is on other pieces.",
            advice="Write the name of the piece on it, with the style's.",
            facts=("piece",),
            severity=Severity.NOTE,
        ),
        Code(
            name="size",
            meaning="the piece does not say its size",
            message="{piece}: its size is not written on it, as it is on other pieces.",
            advice="Write the size on the piece, say Size 40.",
            facts=("piece",),
            severity=Severity.NOTE,
        ),
        Code(
            name="quantity",
            meaning="the piece does not say how often it is cut",
            message="{piece}: how often it is cut is not written on it, as it is on other pieces.",
            advice="Write on the piece how often it is cut and of which cloth, say Cut 2.",
            facts=("piece",),
            severity=Severity.NOTE,
        ),
        Code(
            name="quantity-differs",
            meaning="the written number is not the one in the plan",
            message="{piece}: it says to cut {written}, the plan says {planned}.",
            advice="Find out which is right, and correct the words on the piece or cut = in the plan.",
            facts=("piece", "written", "planned"),
            severity=Severity.NOTE,
        ),
    ),
    run=_labels,
)

CHECKS = (LABELS,)
