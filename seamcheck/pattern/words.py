"""What a mark is for, by the words on it, in six languages; and the piece's name that the same words hold.

Words are compared without case, accents and punctuation. A phrase of the trade counts wherever it stands in a
name ("Front sew line 2"); a bare word that also means something else ("cut", "fold", "text") counts only when
nothing but numbers and fillers stand beside it, or at the end of a mark's own name ("front-cut"). The words are common practice, from memory.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from fnmatch import fnmatchcase
from functools import cache, lru_cache
from typing import NamedTuple

from seamcheck.pattern.drawing import Role

# What `true` calls its layers: the lines that it replaced, and at the end of a layer's own name those it drew.
OLD_LINES = "before truing"
NEW_LINES = "trued"


def plain_layer(name: str) -> str:
    """A layer's own name, without what is added for the lines that were drawn anew: "SEW-TRUED" is "SEW"."""
    added = f"-{NEW_LINES}"
    return name[: -len(added)] if name.casefold().endswith(added) else name


# Phrases that count anywhere; English, German, French, Spanish, Italian, Dutch. Earlier roles win.
_PHRASES: Mapping[Role, str] = {
    Role.OLD: OLD_LINES,
    Role.TEST_SQUARE: """test square, scale square, check square, control square, gauge square, calibration square, this
        square, square is, square should, square measures, square must; kontrollquadrat, testquadrat, prüfquadrat,
        pruefquadrat, maßstabsquadrat, dieses quadrat, quadrat misst, quadrat muss; carré test, carré de contrôle, carré
        témoin, ce carré, carré doit; cuadrado de prueba, cuadrado de control, cuadro de prueba, este cuadrado, cuadrado
        debe; quadrato di prova, quadrato di controllo, questo quadrato, quadrato deve; testvierkant, controlevierkant,
        proefvierkant, dit vierkant, vierkant moet""",
    Role.FURNITURE: """measure, measures, measurement, measurements, dimension, dimensions,
        dimension line, leader line, dinline, dinhelpline, title block, page frame; bemaßung,
        bemassung, maßlinie, masslinie, maßlinien; cotation, ligne de cote, lignes de cote; cota,
        cotas, acotación; quotatura, linea di quota; maatlijn, maatlijnen, maatvoering""",
    Role.NOTCH: """notch, notches, balance mark, balance marks, match mark, match marks; knips,
        knipse, kerbe, kerben, passzeichen; cran, crans, cran de montage, crans de montage, encoche,
        encoches; piquete, piquetes, muesca, muescas, aplomo, aplomos; tacca, tacche, tacchetta,
        tacchette; inkeping, inkepingen, knipje, knipjes, paspunt, paspunten, pasteken, pastekens""",
    Role.GRAIN: """grain, grain line, grainline, grainlines, grain arrow, straight grain, straight
        of grain; fadenlauf, fadenlaufpfeil, fadenlauflinie; droit fil, ligne de droit fil,
        droitfil; al hilo, recto hilo, hilo recto, línea de hilo, sentido del hilo, dirección del
        hilo; dritto filo, drittofilo; draadrichting, draadrichtingslijn, rechtdraad, draadloop""",
    Role.DRILL: """drill, drill hole, drill holes, drillhole, drillholes, punch hole, punch holes;
        bohrloch, bohrlöcher, bohrloecher, bohrung, lochmarkierung; trou de perçage, point de
        perçage, trous de perçage, poinçon; taladro, taladros, perforación, perforaciones, punzón;
        foro, fori, punto di foratura; boorgat, boorgaten""",
    Role.FOLD: """fold line, fold lines, foldline, on fold, on the fold, place on fold, fold edge;
        stoffbruch, bruchlinie, bruchkante, im bruch; pliure, ligne de pliure, au pli; doblez, al
        doblez, línea de doblez; ripiegatura, linea di piega, sulla piega; stofvouw, vouwlijn, aan
        de vouw""",
    Role.DART: """dart, darts, dart leg, dart legs; abnäher, abnaeher; pince, pinces; pinza, pinzas;
        ripresa, riprese; figuurnaad, figuurnaden, coupenaad, coupenaden, neep""",
    Role.CUTOUT: """cutout, cutouts, inner cut; innenausschnitt, aussparung; évidement; recorte
        interior; ritaglio interno; uitsparing""",
    Role.INTERNAL: """internal line, internal lines, placement line, placement, topstitch,
        topstitching, pleat line, quilting line; innenlinie, innenlinien, hilfslinie, hilfslinien,
        ansatzlinie, steppnaht; ligne intérieure, ligne de placement, surpiqûre; línea interna,
        línea interior, pespunte; linea interna, impuntura; binnenlijn, hulplijn, sierstiksel,
        plaatsingslijn""",
    Role.SEW: """sew line, sew lines, sewline, sewing line, sewing lines, seam line, seam lines,
        seamline, seamlines, stitch line, stitch lines, stitchline, stitching line, stitching lines,
        finished line, net line; nahtlinie, nahtlinien, nählinie, naehlinie, nählinien; ligne de
        couture, lignes de couture, ligne de piqûre; línea de costura, líneas de costura; linea di
        cucitura, linee di cucitura; stiklijn, stiklijnen, naailijn, naadlijn, naadlijnen""",
    Role.CUT: """cut line, cut lines, cutline, cutlines, cutting line, cutting lines, cutting edge;
        schnittlinie, schnittlinien, zuschnittlinie, schneidelinie, schnittkante; ligne de coupe,
        lignes de coupe, ligne de découpe; línea de corte, líneas de corte; linea di taglio, linee
        di taglio; kniplijn, kniplijnen, snijlijn, snijlijnen""",
    Role.CORNER: "turn point, turn points, corner point, corner points; eckpunkt, eckpunkte; hoekpunt, hoekpunten",
    Role.GRADE: """grade line, grade reference, grade reference line, grading line, grading point,
        grading points; gradierlinie, gradierpunkt, gradierung; ligne de gradation, gradation; línea
        de escalado, escalado; sviluppo taglie; gradeerlijn, gradering""",
    Role.OUTLINE: """outline, outlines, piece boundary, boundary; umriss, umriß, kontur; contour,
        contours; contorno; omtrek, omtreklijn""",
}

# What names no piece and tells no role: the strip between sew line and cut line.
_ALLOWANCE = """seam allowance, seam allowances, allowance, allowances; nahtzugabe, nahtzugaben; marge de couture, marges de couture,
    valeur de couture; margen de costura, margenes de costura; margine di cucitura, margini di cucitura; naadtoeslag, naadtoeslagen"""

# What says that two parts of a piece are put together before cutting.
_TAPED = """tape, tape here, tape together, tape to, taped, join here, glue here, join pages; ankleben, zusammenkleben, hier kleben,
    klebekante; coller, coller ici, assembler ici; pegar, pegar aqui, unir aqui; incollare, incolla qui, unire qui; plakken, hier plakken"""

# Words that count only when they stand alone.
_BARE: Mapping[Role, str] = {
    Role.FURNITURE: """dim, dims, frame, border, page, guide, guides, grid, legend, leader, leaders, margin,
        annotation, annotations, note, notes; rahmen, rand, raster, legende, maß, mass, masse, maße;
        cadre, grille, marge, cote, cotes; marco, cuadrícula; cornice, griglia, quota, quote; kader, maat, maten""",
    Role.FOLD: "fold, folds, folding; bruch, umbruch; pli, plis; piega; vouw",
    Role.GRAIN: "hilo, filo, draad, fil",
    Role.SEW: """sew, sewing, seam, seams, stitch, stitching, net; naht, nähte, naehte; couture,
        coutures; costura, costuras; cucitura, cuciture; naad, naden, stiksel""",
    Role.CUT: """cut, cuts, cutting; schnitt, zuschnitt, schneiden; coupe, découpe; corte, cortes;
        taglio, tagli; knippen, snijden""",
    Role.INTERNAL: "internal, internals, inner; innen; intérieur; interior; interno; binnen",
    Role.CORNER: "corner, corners",
    Role.LABEL: """label, labels, text, texts, lettering, name, names; beschriftung, beschriftungen,
        texte; étiquette, étiquettes; etiqueta, etiquetas, texto, textos; etichetta, etichette,
        testo, testi; opschrift, tekst, teksten""",
}
_FILLERS = frozenset({
    "line", "lines", "layer", "mark", "marks", "marking", "markings", "all", "the", "of", "and", "copy",
    "linie", "linien", "ebene", "kopie", "ligne", "lignes", "calque", "de", "la", "le", "les", "linea",
    "lineas", "capa", "linee", "livello", "lijn", "lijnen", "laag", NEW_LINES,
})  # fmt: skip
# What programs call things that nobody named.
_GENERIC = _FILLERS | frozenset({
    "path", "rect", "rectangle", "g", "group", "gruppe", "groupe", "grupo", "gruppo", "groep", "circle",
    "ellipse", "line", "polyline", "polygon", "use", "text", "tspan", "svg", "image", "object", "objekt",
    "objet", "objeto", "oggetto", "shape", "form", "forme", "symbol", "clip", "clippath", "mask", "svgid",
    "compound", "xmlid", "artboard", "document", "page", "pfad", "rechteck", "kreis", "trace", "id", "a",
    "sketch", "drawing", "default", "background",
})  # fmt: skip
LONGEST_LABEL = 300  # characters that are looked at
_WORD = re.compile(r"[^\W\d_]+|\d+")
_LETTER = re.compile(r"\W*([^\W\d_])\W*")
_ACCENTED = re.compile("côtes?|côtés?", re.IGNORECASE)
_CAMEL = re.compile(r"(?<=[a-zäöüß])(?=[A-Z])")
_QUANTITY = re.compile(
    r"(?:\b(?:cut|cuts|schneiden|zuschneiden|couper|cortar|tagliare|knip|knippen)\s*:?\s*\d+\s*x?\b)|\b\d+\s*x\b|\bx\s*\d+\b",
    re.IGNORECASE,
)


class Verdict(NamedTuple):
    """A role and, in words, what told it; both empty when nothing did."""

    role: Role | None
    why: str


NO_VERDICT = Verdict(None, "")


def _words_for(role: Role) -> tuple[str, str, str]:
    return role.value, role.name.lower().replace("_", " "), role.value.removesuffix(" line")


# What a shop may call the roles in its settings.
ROLE_WORDS = tuple(dict.fromkeys(word for role in Role for word in _words_for(role)))


def role_named(word: str) -> Role | None:
    """The role that a settings key stands for: "sew line", "sew-line", "SEW" or just "sew"."""
    plain = " ".join(_tokens(word))
    for role in Role:
        if plain in _words_for(role):
            return role
    return None


@lru_cache(maxsize=4096)
def role_in(text: str, *, own: bool = False) -> Role | None:
    """The role that the words of one name tell; None when they tell none. `own`: it is the mark's own name."""
    tokens = _tokens(text[:LONGEST_LABEL])
    for role, phrases in _phrases().items():
        if any(phrase[0] in tokens and _find(tokens, phrase) is not None for phrase in phrases):
            return role
    alone = tuple(token for token in tokens if token not in _FILLERS and not token.isdigit())
    return _bare().get(alone) or (_at_end(alone) if own else None)


def role_by_words(
    own: Iterable[str],
    groups: Sequence[str],
    shop: Mapping[str, Sequence[str]],
    *,
    kind: str = "label",
    closed: bool = False,
) -> Verdict:
    """The role of a mark by its own names, else by the nearest group or layer whose name tells one.

    `groups` run from the outside in. At each level the shop's patterns are asked before the words. A name that
    holds a piece's name too ("Yoke, cut 1 on fold") may only tell what else is on that piece: it makes no
    fold, notch or dart of a closed line, nor of all that stands in a group.
    """
    levels = [(kind, name) for name in own] + [("group", name) for name in reversed(groups)]
    for what, name in levels:
        if not name:
            continue
        if role := _by_pattern(name, shop):
            return Verdict(role, f'{what} "{name}", by the shop\'s settings')
        role = role_in(name, own=what != "group")
        if role is None or (piece_name(name) and not _tells_of_all(role, in_group=what == "group", closed=closed)):
            continue
        return Verdict(role, f'{what} "{name}"')
    return NO_VERDICT


def _tells_of_all(role: Role, *, in_group: bool, closed: bool) -> bool:
    """Whether a role goes for a mark by a name that also names a piece."""
    if role in (Role.SEW, Role.CUT, Role.OUTLINE, Role.FURNITURE, Role.TEST_SQUARE):
        return True
    return not closed and (not in_group or role == Role.NOTCH)


@lru_cache(maxsize=4096)
def piece_name(label: str) -> str:
    """What is left of a name without role words, cut quantities and what programs number things with.

    "Front - sew line" gives "Front"; "A" is whole; "notch", "Layer 1", "path1178" and "a" give "".
    """
    if letter := lone_letter(label):
        return letter
    text = _QUANTITY.sub(" ", " ".join(_spaced(label[:LONGEST_LABEL]).split()))
    spans = [match.span() for match in _WORD.finditer(text)]
    tokens = tuple(_plain(text[start:end]) for start, end in spans)
    gone: set[int] = set()
    for phrases in (*_phrases().values(), _allowance_phrases()):
        for phrase in phrases:
            at = _find(tokens, phrase) if phrase[0] in tokens else None
            while at is not None:
                gone.update(range(at, at + len(phrase)))
                at = _find(tokens, phrase, at + len(phrase))
    gone.update(index for index, token in enumerate(tokens) if token == NEW_LINES)
    kept = [index for index in range(len(tokens)) if index not in gone]
    named = [index for index in kept if tokens[index] not in _GENERIC and not tokens[index].isdigit()]
    words = [tokens[index] for index in named]
    if not named or tuple(words) in _bare() or role_in(text) == Role.TEST_SQUARE:
        return ""
    if _at_end(words):
        gone.add(named[-1])
        kept.remove(named[-1])
    if not gone:
        return " ".join(text.replace("_", " ").split()).strip(" -:,;./")
    # Fillers next to a deleted phrase belonged to it.
    return " ".join(text[slice(*spans[index])] for index in kept if tokens[index] not in _FILLERS)


def lone_letter(text: str) -> str:
    """The capital that a text is, and nothing else: as hobbyists call pieces. "" for other texts; a program's own names are small."""
    found = _LETTER.fullmatch(text[:LONGEST_LABEL])
    return found[1] if found and found[1].isupper() else ""


def words_of(role: Role) -> tuple[str, str]:
    """The phrases that tell a role wherever they stand, and the words that tell it alone, as one line each, language by language."""
    told = (_PHRASES.get(role, ""), _BARE.get(role, ""))
    phrases, bare = ("; ".join(" ".join(part.split()) for part in text.split(";") if part.strip()) for text in told)
    return phrases, bare


def allowance_words() -> list[str]:
    """What the strip between sew line and cut line is called."""
    return [" ".join(item.split()) for item in _items(_ALLOWANCE)]


def plain_words(text: str) -> tuple[str, ...]:
    """The words and numbers of a text, without case and accents."""
    return _tokens(text[:LONGEST_LABEL])


def is_bare_word(text: str) -> bool:
    """Whether words are one of those that tell a role where they stand alone, and nothing else: "Rand", not "Rand 2"."""
    return _tokens(text[:LONGEST_LABEL]) in _bare()


def is_generic(name: str) -> bool:
    """Whether a name is only what a program calls things by itself: "path1178", "Layer 1", "g12-5"."""
    return all(token in _GENERIC or token.isdigit() or len(token) == 1 for token in _tokens(name))


def _at_end(tokens: Sequence[str]) -> Role | None:
    role = _bare().get(tuple(tokens[-1:]))
    return role if role in (Role.SEW, Role.CUT, Role.FOLD) else None


def _by_pattern(name: str, shop: Mapping[str, Sequence[str]]) -> Role | None:
    for word, patterns in shop.items():
        if any(fnmatchcase(name.casefold(), pattern.casefold()) for pattern in patterns):
            return role_named(word)
    return None


def _spaced(text: str) -> str:
    return _CAMEL.sub(" ", text)


def _plain(word: str) -> str:
    """A word without case and accents; with them where they make another word of it, as ribbing and a side in French."""
    if word.isascii() or _ACCENTED.fullmatch(word):
        return word.casefold()
    spread = unicodedata.normalize("NFKD", word.casefold())
    return "".join(letter for letter in spread if not unicodedata.combining(letter))


def _tokens(text: str) -> tuple[str, ...]:
    return tuple(_plain(word) for word in _WORD.findall(_spaced(text)))


def _find(tokens: Sequence[str], phrase: Sequence[str], start: int = 0) -> int | None:
    for at in range(start, len(tokens) - len(phrase) + 1):
        if tuple(tokens[at : at + len(phrase)]) == tuple(phrase):
            return at
    return None


@cache
def _phrases() -> dict[Role, list[tuple[str, ...]]]:
    return {
        role: sorted({_tokens(item) for item in _items(text)}, key=len, reverse=True)
        for role, text in _PHRASES.items()
    }


@cache
def _allowance_phrases() -> list[tuple[str, ...]]:
    return sorted({_tokens(item) for item in _items(_ALLOWANCE)}, key=len, reverse=True)


def says_allowance(text: str) -> bool:
    """Whether a name is that of the strip between sew line and cut line."""
    tokens = _tokens(text[:LONGEST_LABEL])
    return any(_find(tokens, phrase) is not None for phrase in _allowance_phrases())


def says_taped(text: str) -> bool:
    """Whether words say that parts of a piece are taped together where they stand; a single word, only where it stands alone."""
    tokens = _tokens(text[:LONGEST_LABEL])
    return any(tokens == one if len(one) == 1 else _find(tokens, one) is not None for one in _taped_phrases())


@cache
def _taped_phrases() -> list[tuple[str, ...]]:
    return [_tokens(item) for item in _items(_TAPED)]


@cache
def _bare() -> dict[tuple[str, ...], Role]:
    return {_tokens(item): role for role, text in _BARE.items() for item in _items(text)}


def _items(text: str) -> list[str]:
    return [item for item in re.split(r"[,;]", text) if item.strip()]
