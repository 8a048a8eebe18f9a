"""What an edge of a piece is, by the words in its name: the outseam, the inseam, the crotch, the waist.

Words are compared without case, accents and punctuation, in English, German, French, Spanish, Italian and Dutch; they are
common practice, from memory.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from seamcheck.pairing.names import plain, words_of
from seamcheck.pattern.model import Edge, Piece

# Earlier roles win: an "outside leg seam" is no inseam. A phrase counts where all of its words are in the name.
_WORDS: Mapping[str, tuple[str, ...]] = {
    "outseam": (
        "outseam", "out seam", "outside leg", "outer leg", "outleg", "side", "sideseam", "seite", "seitennaht", "aussennaht",
        "aussenbein", "cote", "costado", "lado", "fianco", "lato", "zij", "zijnaad", "buitenbeen",
    ),
    "inseam": (
        "inseam", "in seam", "inside leg", "inner leg", "inleg", "leg seam", "innenbein", "innenbeinnaht", "innennaht", "schrittnaht",
        "entrejambe", "entrepierna", "cavallo", "interno gamba", "binnenbeen", "binnenbeennaad",
    ),
    "crotch": (
        "crotch", "rise", "seat", "seat seam", "fork", "gesassnaht", "gesaessnaht", "schritt", "fourche", "enfourchure", "tiro",
        "fondillo", "cavallo seduta", "kruis", "kruisnaad", "zitnaad",
    ),
    "centre-back": ("centre back", "center back", "cb", "hintere mitte", "milieu dos", "centro espalda", "centro dietro", "middenachter"),
    "centre-front": (
        "centre front", "center front", "cf", "fly", "vordere mitte", "milieu devant", "centro delantero", "centro davanti", "middenvoor",
    ),
    "waist": ("waist", "waistline", "top", "taille", "talla", "cintura", "vita", "giro vita"),
    "hem": ("hem", "bottom", "saum", "ourlet", "bajo", "dobladillo", "orlo", "fondo", "zoom"),
    "upper": ("upper", "top edge", "ober", "oberkante", "haut", "superior", "superiore", "boven", "bovenkant"),
    "lower": ("lower", "bottom edge", "unterkante", "unten", "bas", "inferior", "inferiore", "onder", "onderkant"),
    "fold": ("fold", "bruch", "stoffbruch", "pliure", "doblez", "piega", "ripiegatura", "vouw", "stofvouw"),
}  # fmt: skip
ROLES = tuple(_WORDS)
# The line from waist to crotch point, where it is one edge or several: what a leg has at its centre.
CENTRE = {"back": ("centre-back", "crotch"), "front": ("centre-front", "crotch")}


def roles_of(name: str) -> tuple[str, ...]:
    """All roles that the words in an edge's name tell, the likeliest first."""
    words = re.findall(r"[^\W\d_]+", plain(name))
    found = []
    for role, phrases in _WORDS.items():
        hits = [len(phrase.split()) for phrase in phrases if set(phrase.split()) <= set(words)]
        if hits:
            found.append((-max(hits), ROLES.index(role), role))
    return tuple(role for *_, role in sorted(found))


def edges_in_role(piece: Piece, role: str) -> tuple[Edge, ...]:
    """The edges of a piece that are most likely of a role, in order."""
    return tuple(edge for edge in piece.edges if roles_of(edge.name)[:1] == (role,))


def is_in_role(piece: Piece, role: str) -> bool:
    """Whether a piece is a "back", a "front", a "waistband" ..., by the words in its names.

    A "back waistband" is one that is said to be of the back, or that goes all round and is said to be of neither.
    """
    side, _, of = role.rpartition(" ")
    for name in (piece.name, piece.in_file):
        words = words_of(name, (), {})
        if role in ("front", "back") and words.kind in ("", "body"):
            if role in words.qualities:
                return True
        elif {"waistband": "band"}.get(of, of) == words.kind and words.kind:
            sides = words.qualities & {"front", "back"}
            if not side or side in sides or not sides:
                return True
    return False
