"""What the words on a piece tell of its place in the whole, in six languages.

kind       what the piece is: body, sleeve, band, facing, pocket ...
quality    which one: front, back, left, right, side, upper, under

Words are compared without case, accents and punctuation, by how they begin or end, so that compounds such as
"Vorderhose" and "Taschenbeutel" are understood. The words are common practice, from memory.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

# Earlier kinds win: a "band facing" is a facing, a "sleeve cuff" a cuff, a "hosenbund" a band and not trousers.
_KIND_WORDS: Mapping[str, str] = {
    "facing": "facing facings beleg belege parementure enforme vista vistas paramontura ripiego beleg belegdeel",
    "lining": "lining futter doublure forro fodera voering",
    "loop": "loop loops beltloop gurtelschlaufe schlaufe schlaufen passant presilla passante lus riemlus hanger aufhanger",
    "strap": "strap straps handle handles tie ties webbing trager henkel griff gurt riemen bretelle anse lien tirante asa "
    "correa spallina manico laccio schouderband hengsel lint belt belts gurtel cinturon riem bindeband ceintuur",
    "placket": "placket fly slit vent underlap hosenschlitz schlitz schlitzbesatz untertritt patte braguette fente tapeta bragueta "
    "cremallera abertura listino patta spacco finta split gulp",
    "pocket": "pocket pockets tasche taschen beutel poche bolsillo tasca zak zakken",
    "flap": "flap klappe rabat solapa pattina klep",
    "tab": "tab tabs epaulette epaulettes riegel lasche trabilla linguetta patje",
    "cuff": "cuff cuffs manschette manschetten poignet puno polsino manchet poignet poignets",
    "stand": "stand collarstand stehkragen kragensteg pied pie listino staander boordje",
    "collar": "collar kragen col cuello colletto kraag",
    "hood": "hood kapuze capuche capucha cappuccio capuchon",
    "band": "band waistband bund hosenbund rockbund taillenbund ceinture cintura pretina cinturino tailleband boord "
    "hemband neckband sweatband badana schweissband bundchen rib ribbing ribs ribbed bordcote",
    "strip": "strip casing channel tunnel binding edging streifen blende coulisse bande tira striscia bies einfassung biais ribete sbieco welt",
    "yoke": "yoke passe sattel empiecement canesu sprone carre pas schouderstuk heupstuk huftpasse",
    "frill": "frill ruffle flounce volant rusche volante balza ruche strook peplum baschina schosschen basque faldilla tier tiers stufe etage",
    "sleeve": "sleeve sleeves armel manche manga manica mouw mouwen",
    "gusset": "gusset boxing zwickel keil seitenstreifen soufflet fuelle escudete tassello inzet spie kruisje fourchette fourchettes forchette horquilla",
    "base": "base bottom boden fond fondo suelo bodem sole sohle semelle suela suola zool",
    "lid": "lid deckel couvercle tapa coperchio deksel",
    "crown": "crown crownpanel kopfteil calotte corona calotta bol",
    "brim": "brim visor peak krempe schirm visiere bord visera ala tesa klepje rand",
    "thumb": "thumb daumen pouce pulgar pollice duim",
    "gore": "gore gores bahn rockbahn godet nesga telo baan",
    "panel": "panel panels teil paneel panneau panel pannello paneel",
    "body": "bodice body leib leibchen corsage corps cuerpo corpo lijfje trousers hose pantalon pantalone broek skirt rock jupe "
    "falda gonna rok shirt bluse hemd chemise camisa camicia jacket jacke veste chaqueta giacca jas dress kleid robe "
    "vestido abito jurk bib latz bavette peto pettorina slab bag rucksack sac bolsa borsa tas tote palm hand leg cape cloak umhang mantella mantello coat mantel manteau abrigo cappotto vest weste gilet legging leggings shorts apron schurze tablier delantal grembiule schort culotte",
}
_QUALITY_WORDS: Mapping[str, str] = {
    "front": "front vorder vorn vorne vorderteil devant avant delantero delantera delante davanti anteriore voor voorpand",
    "back": "back rear rucken hinter hinten hinterteil ruckenteil dos derriere arriere espalda trasero trasera detras dietro "
    "posteriore rug achter achterpand",
    "left": "left links linke linker gauche izquierdo izquierda sinistro sinistra linker",
    "right": "right rechts rechte rechter droit droite derecho derecha destro destra rechter",
    "side": "side seite seiten seitenteil cote lateral lado fianco laterale lato zij zijkant zijpand",
    "centre": "centre center mitte mittel milieu centro centrale midden middel",
    "upper": "upper top ober oben dessus haut superior superiore boven",
    "under": "under lower unter unten dessous bas inferior inferiore onder",
    "inner": "inner inside innen innere interieur interieure interno interna interior binnen",
    "outer": "outer outside aussen aussere exterieur exterieure esterno esterna exterior buiten",
    "bodice": "bodice leib leibchen oberteil corsage corpino cuerpo corpo corpetto lijfje",
    "skirt": "skirt rock jupe falda gonna rok",
}
KINDS = tuple(_KIND_WORDS)
QUALITIES = tuple(_QUALITY_WORDS)
_STEMS = frozenset(  # words that compounds are made of
    [
        "beleg",
        "futter",
        "schlaufe",
        "beutel",
        "tasche",
        "klappe",
        "manschette",
        "kragen",
        "kapuze",
        "bund",
        "passe",
        "sattel",
        "volant",
        "armel",
        "zwickel",
        "keil",
        "boden",
        "deckel",
        "daumen",
        "bahn",
        "hose",
        "rock",
        "vorder",
        "hinter",
        "rucken",
        "seiten",
        "unter",
        "ober",
        "innen",
        "aussen",
        "mitte",
        "voor",
        "achter",
        "rug",
        "zij",
        "mouw",
        "kraag",
        "zak",
        "boord",
        "broek",
        "waistband",
        "riegel",
        "lasche",
        "pocket",
        "sleeve",
        "collar",
        "schlitz",
        "gulp",
        "split",
    ]
)
_RIBS = frozenset(["rib", "ribbing", "ribs", "ribbed", "bordcote", "costina", "elastic", "elastico", "canale"])
_SEWN_ON = ("patch", "aufgesetzt", "aufsatz", "plaque", "appli", "parche", "toppa", "opgestikt", "opgenaaid")
_TROUSERS = frozenset(
    [
        "trousers",
        "trouser",
        "shorts",
        "jeans",
        "dungarees",
        "overalls",
        "leggings",
        "legging",
        "breeches",
        "pantalon",
        "pantalons",
        "pantalone",
        "pantaloni",
        "pantalones",
        "salopette",
        "pantaloncini",
    ]
)
_TOPS = frozenset(
    [
        "waistcoat",
        "vest",
        "weste",
        "gilet",
        "chaleco",
        "panciotto",
        "jacket",
        "jacke",
        "veste",
        "chaqueta",
        "giacca",
        "jas",
        "coat",
        "mantel",
        "manteau",
        "abrigo",
        "cappotto",
        "shirt",
        "hemd",
        "chemise",
        "camisa",
        "camicia",
        "overhemd",
        "blouse",
        "bluse",
        "blusa",
        "dress",
        "kleid",
        "robe",
        "vestido",
        "abito",
        "jurk",
        "cape",
        "umhang",
        "mantella",
        "top",
        "pullover",
        "sweater",
        "polo",
        "bodice",
    ]
)
_PAIRED = re.compile(
    r"\bpairs?\b|\bpaar\b|\bpaire\b|\bpar\b|\bpaio\b|gespiegelt|mirrored|gegengleich|en miroir|specchiat",
    re.IGNORECASE,
)
_FOLDED = re.compile(
    r"on (the )?fold|\bim bruch\b|stoffbruch|au pli|sur la pliure|al doblez|en doblez|sulla piega|aan de vouw|stofvouw",
    re.IGNORECASE,
)
_RIB_EDGE = re.compile(r"\bbords?[- ]?cotes?\b")  # "bord-côte" is ribbing, and no side
_COUNT = re.compile(
    r"(?:\b(?:cut|schneiden|zuschneiden|couper|cortar|tagliare|knip|knippen)\s*:?\s*(\d{1,4}))(?!\d)|\b(\d{1,4})\s*[x×]|[x×]\s*(\d{1,4})\b",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class NameWords:
    """What the words of a piece tell; empty where they tell nothing. `own` are the plain words themselves."""

    kind: str = ""
    qualities: frozenset[str] = frozenset()
    own: frozenset[str] = frozenset()
    copies: int | None = None
    paired: bool = False
    on_fold: bool = False

    @property
    def ribbed(self) -> bool:
        """Whether a word of it means ribbing, which is stretched on and runs round."""
        return any(token in _RIBS or token.endswith(("boord", "boordje", "bundchen")) for token in self.own)

    @property
    def top(self) -> bool:
        """Whether a word of it means something for the upper body."""
        return bool(self.own & _TOPS)

    @property
    def trousers(self) -> bool:
        """Whether a word of it means trousers."""
        return any(token in _TROUSERS or token.endswith(("hose", "hosen", "broek")) for token in self.own)

    @property
    def in_seam(self) -> bool:
        """Whether it is a pocket that may be sewn into a seam, not one that is sewn onto the cloth."""
        return self.kind == "pocket" and not any(token.startswith(_SEWN_ON) for token in self.own)

    @property
    def opening(self) -> bool:
        """Whether a word of it means a fly, a slit or a placket."""
        return any(_is(token, "placket") for token in self.own)

    @property
    def silent(self) -> bool:
        """Whether nothing is known of what the piece is."""
        return not self.kind and not self.qualities


def plain(text: str) -> str:
    """Text without case and accents."""
    spread = unicodedata.normalize("NFKD", text.casefold().replace("ß", "ss"))
    return "".join(letter for letter in spread if not unicodedata.combining(letter))


def words_of(name: str, texts: Iterable[str], labels: Mapping[str, str]) -> NameWords:
    """What a piece's name tells, and for the cut quantity its texts and labels too."""
    written = _RIB_EDGE.sub("bordcote", plain(re.sub(r"(?<=[a-zäöüß])(?=[A-Z])", " ", name)))
    tokens = tuple(re.findall(r"[^\W\d_]+", written))
    kind = next((kind for kind in _KIND_WORDS if any(_is(token, kind) for token in tokens)), "")
    qualities = frozenset(quality for quality in _QUALITY_WORDS if any(_is(token, quality) for token in tokens))
    if kind in ("band", "stand") and any(_is(token, "sleeve") for token in tokens):
        kind = "cuff"
    if not kind and qualities & {"front", "back", "side"}:
        kind = "body"
    copies = paired = folded = None
    for text in (*texts, *(f"cut {value}" for key, value in labels.items() if key == "quantity"), name):
        folded = folded or _FOLDED.search(text)
        paired = paired or _PAIRED.search(plain(text))
        match = _COUNT.search(text)
        if match and copies is None:
            copies = int(next(group for group in match.groups() if group))
    quantity = labels.get("quantity", "")
    if (match := re.fullmatch(r"\s*(\d{1,4})\s*,\s*(\d{1,4})\s*", quantity)) is not None:  # as drawn, mirrored
        drawn, mirrored = int(match[1]), int(match[2])
        copies, paired = drawn + mirrored, paired or (match if drawn and mirrored else None)
    return NameWords(kind, qualities, frozenset(tokens), copies, paired is not None, folded is not None)


@lru_cache(maxsize=8192)
def _is(token: str, what: str) -> bool:
    known = (_KIND_WORDS.get(what) or _QUALITY_WORDS[what]).split()
    if token in known:
        return True
    return any(
        len(token) > len(word) and (token.startswith(word) or token.endswith((word, word + "n", word + "s")))
        for word in known
        if word in _STEMS
    )
