"""Seams that the trade eases by custom, known by the words in a plan: which side is the longer one, and where the ease lies.

Edges are known by their own names and by that of the seam, which is all that tells where seams were inferred. Words are
compared without case and accents, in English, German, French, Spanish, Italian and Dutch; they are common practice, from
memory. A seam whose names say nothing is of no kind, and nothing is held against it.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterable, Mapping
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from seamcheck.pattern.seams import Seam, Side

_CAP = "cap sleevecap sleevehead crown kugel armkugel aermelkugel armelkugel tete copa colmo mouwkop armskop"
_HEAD = "head kopf kop"  # of a sleeve
_SLEEVE = "sleeve undersleeve topsleeve armel aermel manche manga manica mouw"
_ARMHOLE = "armhole armscye scye armloch armausschnitt armelloch aermelloch emmanchure sisa giromanica scalfo armsgat mouwgat"
_SHOULDER = "shoulder shoulders schulter schulternaht epaule hombro spalla schouder schoudernaad"
_FRONT = "front forepart vorderteil vorne vorder vorderhose devant delantero delantera davanti voorpand voor voorkant"
_BACK = "back ruckenteil rueckenteil rucken ruecken hinten hinterhose dos trasero espalda dietro rugpand achter achterpand"
_WAIST = "waist taille talla cintura vita tailleband middel"
_BAND = "band waistband bund hosenbund rockbund ceinture pretina cinturilla cintura cinturino tailleband"
_INNER = "facing lining undercollar beleg besatz futter unterkragen parementure doublure vista forro paramontura fodera voering"
_INSEAM = "inseam inleg innenbein innenbeinnaht schrittnaht entrejambe entrepierna cavallo binnenbeen binnenbeennaad"
_SIDE = "side sideseam seite seitennaht cote costado lado fianco lato zij zijnaad"
_HEM = "hem hems saum ourlet bas bajo dobladillo orlo fondo zoom"


class SeamKind(NamedTuple):
    """A kind of seam: in words the side that is eased, what it is called when the other side is longer, what is usual.

    `most` is the customary ease of the whole seam in mm; `between_notches` tells that it lies between the outermost
    notches, `above_knee` that it ends at the last notch before the hem, `turn_of_cloth` that it is taken up where the seam
    is turned, so that nobody writes it down; what lies inside may also be longer, as a lining with its pleat is.
    """

    eased: str
    wrong: str
    most: float
    between_notches: bool = False
    above_knee: bool = False
    turn_of_cloth: bool = False


CAP = SeamKind("the cap", "the cap is shorter than the armhole", 50.8, between_notches=True)
SHOULDER = SeamKind("the back shoulder", "the front shoulder is longer than the back one", 12.7)
WAIST = SeamKind("the waist", "the band is longer than the waist", 12.7)
INSEAM = SeamKind("the front inseam", "the back inseam is longer than the front one", 12.7, above_knee=True)
OUTER = SeamKind("the outer piece", "the piece inside is longer than the one outside", 3.175, turn_of_cloth=True)


class Customary(NamedTuple):
    """What kind a seam is; `sign` is 1 where its first side is the one that is eased, -1 where the second is."""

    kind: SeamKind
    sign: int


def customary(seam: Seam) -> Customary | None:
    """The kind of a seam, by the words in its name and those of its pieces and edges; None where they say nothing."""
    first, second = (_words(side, seam.name) for side in (seam.first, seam.second))
    for sign, (eased, other) in ((1, (first, second)), (-1, (second, first))):
        for kind, is_it in _TELLING.items():
            if is_it(eased, other):
                return Customary(kind, sign)
    return None


def is_of_garment(names: Iterable[str]) -> bool:
    """Whether the names of pieces, edges and seams are those of a garment; a bag has sides, a front and a back too."""
    return _has(_split(*names), f"{_CAP} {_SLEEVE} {_ARMHOLE} {_SHOULDER} {_WAIST} {_INSEAM}")


def is_hem(corner: str) -> bool:
    """Whether a corner's name says that a hem is there."""
    return _has(_split(corner), _HEM)


def is_side(corner: str) -> bool:
    """Whether a corner's name says that a side seam is there."""
    return _has(_split(corner), _SIDE)


class _Words(NamedTuple):
    pieces: frozenset[str]
    edges: frozenset[str]


def _words(side: Side, seam: str) -> _Words:
    return _Words(pieces=_split(*side.pieces), edges=_split(seam, *(use.edge for use in side.uses)))


@lru_cache(maxsize=4096)
def _split(*names: str) -> frozenset[str]:
    plain = unicodedata.normalize("NFKD", " ".join(names).casefold())
    return frozenset(re.findall(r"[a-z]+", "".join(one for one in plain if not unicodedata.combining(one))))


def _has(words: Iterable[str], wanted: str) -> bool:
    return not set(wanted.split()).isdisjoint(words)


def _is_cap(eased: _Words, other: _Words) -> bool:
    sleeve = _has(eased.edges, _CAP) or (_has(eased.pieces, _SLEEVE) and _has(eased.edges, f"{_ARMHOLE} {_HEAD}"))
    return sleeve and _has(other.edges, _ARMHOLE) and not _has(other.pieces, _SLEEVE)


def _is_waist(eased: _Words, other: _Words) -> bool:
    return _has(eased.edges, _WAIST) and _has(other.pieces, _BAND) and not _has(eased.pieces, f"{_BAND} {_INNER}")


def _front_and_back(front: _Words, back: _Words, edge: str) -> bool:
    """Whether an edge of a front piece is sewn to the same of a back piece."""
    named = _has(front.edges, edge) and _has(back.edges, edge)
    return named and _only(front, _FRONT, _BACK) and _only(back, _BACK, _FRONT)


def _only(side: _Words, wanted: str, other: str) -> bool:
    return _has(side.pieces, wanted) and not _has(side.pieces, other)


_TELLING: Mapping[SeamKind, Callable[[_Words, _Words], bool]] = {
    CAP: _is_cap,
    WAIST: _is_waist,
    SHOULDER: lambda eased, other: _front_and_back(other, eased, _SHOULDER),
    INSEAM: lambda eased, other: _front_and_back(eased, other, _INSEAM),
    OUTER: lambda eased, other: _has(other.pieces, _INNER) and not _has(eased.pieces, _INNER),
}
