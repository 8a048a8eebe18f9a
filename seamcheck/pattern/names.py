"""A piece's name, its size and how often it is cut, out of the words that are written on it."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from functools import lru_cache

from seamcheck.pattern.drawing import LineMark, Role, TextMark
from seamcheck.pattern.words import is_bare_word, lone_letter, piece_name, plain_words, says_taped

LONGEST_NAME = 40  # letters
LONGEST_TEXT = 300  # letters of a text that are looked at
MOST_WORDS = 6  # what is longer is a sentence about the piece, not its name
# Words of instructions: a text of several words with one of them tells what to do, and names nothing; common practice, no source.
_INSTRUCTS = frozenset({
    *("open", "leave", "sew", "stitch", "press", "match", "attach", "align", "baste", "here", "until", "before"),
    *("after", "then", "must", "should", "are", "is", "not", "offen", "lassen", "nahen", "bugeln", "hier"),
    *("ouvert", "ouverte", "coudre", "piquer", "ici", "abierto", "abierta", "coser", "aqui", "aperto", "aperta"),
    *("cucire", "naaien", "strijken"),
})  # fmt: skip
_LETTERS = r"(?:[a-z]|\d?x*[sml](?:[/+-]x*[sml])*)"
_SIZE_LETTERS = frozenset("SML")
_SIZE_WORDS = (
    "small|medium|large|klein|mittel|groß|gross|petite|moyenne|grande|pequeña|mediana|piccola|media|middel|groot"
    "|unique|única|unica"
)
_SIZE_TEXT = re.compile(
    r"\b(?:size|gr(?:ö|oe)(?:ß|ss)e|taille|talla|taglia|maat)(?![^\W\d_])"  # "Tailleband" is a waistband
    # Without a colon what follows must look like a size: "Taille dos" is the back of a waist.
    rf"(?:\s*[:=]\s*|\s*(?=[a-z]{{0,3}}\s?\d|(?:{_LETTERS}|{_SIZE_WORDS})(?!\w)))"
    r"((?:(?:uk|us|eu|fr|it|es|nl)\s)?(?!\d+\s*(?:mm|cm|in)\b)[\w./+-]{1,8})",
    re.IGNORECASE,
)
_CUT_TEXT = re.compile(
    r"\bcut\s*[:=]?\s*(\d+|one|two|four|a pair|pair)\b"
    r"|\b(?:zuschneiden|schneiden|couper|coupez|cortar|corte|tagliare|taglia|knippen|knip)\s*[:=]?\s*(\d+)\b"
    r"(?:\s*(?:[x×]|mal|fois|veces|volte|keer)(?!\w))?"
    r"|\b(\d+)\s*(?:[x×]|mal|fois|veces|volte|keer)(?!\w)(?:\s*(?:zuschneiden|schneiden|knippen)\b)?|\b[x×]\s*(\d+)\b",
    re.IGNORECASE,
)
_AMOUNT = re.compile(r"[\d.,/\s]+(?:mm|cm|m|in|inch(?:es)?|\"|'')?", re.IGNORECASE)
_UNIT = re.compile(r"(?:mm|cm|m|in|inch|inches|zoll|pouces?|pulgadas?|pollici|duim)\.?", re.IGNORECASE)
_AMOUNT_WITHIN = re.compile(r"\d\s*(?:mm|cm|in|inch(?:es)?)\b|\d\s*(?:\"|'')", re.IGNORECASE)
_OF_A_SHEET = re.compile(
    r"\b(?:sheet|page|blatt|seite|feuille|hoja|pagina|página|foglio|blad)\s*\d+\s*(?:of|von|de|sur|di|van|/)\s*\d+\b"
    r"|\b(?:scale|maßstab|massstab|échelle|echelle|escala|scala|schaal)\s*:?\s*1\s*[:/]\s*\d",
    re.IGNORECASE,
)
_AFTER_NAME = re.compile(r"\s*=.*|,\s*[\d.,/]+\s*(?:mm|cm|in|inch(?:es)?|\")(?!\w).*", re.IGNORECASE | re.DOTALL)


def labels_from_texts(texts: Iterable[str]) -> tuple[dict[str, str], dict[str, str]]:
    """Size and cut quantity as written on a piece, and for each by its label what says so."""
    labels: dict[str, str] = {}
    told_by: dict[str, str] = {}
    for text in texts:
        if (size := _SIZE_TEXT.search(text)) and "size" not in labels:
            labels["size"] = size.group(1)
            told_by["size"] = _quoted(text)
        if (cut := _CUT_TEXT.search(text)) and "quantity" not in labels:
            labels["quantity"] = next(group for group in cut.groups() if group)
            told_by["quantity"] = _quoted(text)
    return labels, told_by


def _quoted(text: str) -> str:
    words = " ".join(text.split())
    return f'text "{words if len(words) <= LONGEST_NAME else words[: LONGEST_NAME - 3] + "..."}"'


def own_name(mark: LineMark, *, alone: bool = True) -> tuple[str, str]:
    """The name of a line by its label, else by the nearest group that holds no other piece, and what gave it."""
    if name := piece_name(mark.label):
        return name, f'label "{mark.label}"'
    for group in reversed(mark.groups) if alone else ():
        if name := piece_name(group):
            return name, f'group "{group}"'
    return "", ""


@lru_cache(maxsize=4096)
def is_name(text: str) -> bool:
    """Whether words are fit to name a piece: no size, quantity or amount, no sentence."""
    words = " ".join(text.split())
    weak = (
        len(words.split()) > MOST_WORDS or _instructs(words) or words.count("(") != words.count(")") or "=" in words
    )
    return not weak and not is_of_a_sheet(words) and not _AMOUNT_WITHIN.search(words) and bool(written_name(words))


def is_of_a_sheet(text: str) -> bool:
    """Whether words number a sheet or tell its scale, as in a title block: "Sheet 1 of 2", "Scale 1:1"."""
    return bool(_OF_A_SHEET.search(text[:LONGEST_TEXT]))


def is_amount(text: str) -> bool:
    """Whether words are an amount, or an amount with little beside it: "12.5 cm", "= 3 in", "A 40 mm"."""
    words = " ".join(text.split())
    return bool(_AMOUNT.fullmatch(words)) or (len(words.split()) <= 3 and bool(_AMOUNT_WITHIN.search(words)))


def _says_no_name(words: str) -> bool:
    """Whether words are a size, a quantity, an amount or a unit and nothing else, or say what to do."""
    return (
        any(pattern.fullmatch(words) for pattern in (_SIZE_TEXT, _CUT_TEXT, _AMOUNT, _UNIT))
        or _instructs(words)
        or says_taped(words)
    )


def _instructs(words: str) -> bool:
    said = plain_words(words)
    return len(said) > 1 and not _INSTRUCTS.isdisjoint(said)


def written_name(words: str, common: Sequence[str] = ()) -> str:
    """The piece's name in a line of text; "" when it holds none. `common` is what stands on other pieces too."""
    words = " ".join(words.split())
    for shared in common:  # the style's name may stand before the piece's
        if words.casefold().startswith(shared) and not words[len(shared) :][:1].isalnum():
            words = words[len(shared) :].strip(" -–—:,;/·|")
    if not lone_letter(words) and _says_no_name(words):
        return ""
    words = _AFTER_NAME.sub("", words) or words
    name = piece_name(words).strip("()[] ")
    return name if len(name) <= LONGEST_NAME else name[:LONGEST_NAME].rsplit(" ", 1)[0]


def name_from_texts(texts: Sequence[tuple[TextMark, bool]], common: Sequence[str]) -> tuple[str, str, str]:
    """The name written on a piece, what gave it, and the name with the line after it for when it is not alone.

    `texts` are told with whether they stand inside. Words fit for a name go before others, more than a letter before
    one, and words inside before words beside; then the first in the file. Where nothing else names a piece, the style's name does, or one word inside it
    that elsewhere tells what a line is for: a piece may well be a border ("Rand", "Cornice").
    """
    best: tuple[tuple[bool, bool, bool, int], str, str] | None = None
    for index, (text, inside) in enumerate(texts):
        name = written_name(text.text, common)
        rank = (not is_name(text.text), bool(lone_letter(text.text)), not inside, index)
        if name and (best is None or rank < best[0]):
            best = rank, name, f"{_quoted(text.text)} written {'inside' if inside else 'beside'}"
    if best is None:
        named = [one for one in texts if is_name(one[0].text) and not _CUT_TEXT.search(one[0].text)]
        return name_from_texts(named, ()) if common and named else _named_by_a_word(texts)
    (*_, index), name, why = best
    longer = ""
    if index + 1 < len(texts):
        text, more = texts[index][0], texts[index + 1][0]
        if more.place == text.place and is_name(more.text):
            longer = f"{name} {written_name(more.text, common)}"
    return name, why, longer


def may_name(
    texts: Sequence[Sequence[tuple[TextMark, bool]]], sizes: Sequence[str]
) -> list[list[tuple[TextMark, bool]]]:
    """Of the texts of each piece, of which the sizes are given, those that may name it.

    A lone letter may where it is the only one on its piece and on no other piece of the size: else it marks what is matched. Where
    the sheet has no such letters but S, M and L they are sizes.
    """
    letters = [[letter for text, _ in mine if (letter := lone_letter(text.text))] for mine in texts]
    pieces = Counter((letter, size) for mine, size in zip(letters, sizes, strict=True) for letter in set(mine))
    naming = [
        set(mine) if len(mine) == 1 and pieces[mine[0], size] == 1 else set()
        for mine, size in zip(letters, sizes, strict=True)
    ]
    if set().union(*naming) <= _SIZE_LETTERS:
        naming = [set() for _ in texts]
    return [
        [one for one in mine if not (letter := lone_letter(one[0].text)) or letter in its]
        for mine, its in zip(texts, naming, strict=True)
    ]


def _named_by_a_word(texts: Sequence[tuple[TextMark, bool]]) -> tuple[str, str, str]:
    for text, inside in texts:
        words = " ".join(text.text.split())
        its_own = text.role in (None, Role.LABEL) or words in text.groups  # not a word on a fold or on a frame
        if inside and its_own and is_bare_word(words) and not _says_no_name(words):
            return words, f"{_quoted(words)} written inside, where nothing else names it", ""
    return "", "", ""


def common_texts(texts: Sequence[Sequence[TextMark]]) -> list[str]:
    """The style's name, longest first: a line beside the names of more than half of several pieces of a size.

    Where some pieces have it and the name in one line, half are enough with them, as long as it is the only name of none:
    of "Band", "Band facing" and "Band lining" each is whole.
    """
    if len(texts) < 2:
        return []
    beside: Counter[str] = Counter()
    alone: set[str] = set()
    written = [{" ".join(text.text.split()).casefold() for text in mine} - {""} for mine in texts]
    for lines in written:
        naming = {line for line in lines if written_name(line)}
        beside.update(line for line in lines if naming - {line})
        alone |= naming if len(naming) == 1 else set()
    half = len(texts) / 2
    shared = [
        words
        for words, count in beside.items()
        if count > half
        or (
            count > 1
            and words not in alone
            and sum(any(line == words or line.startswith(words + " ") for line in lines) for lines in written) >= half
        )
    ]
    return sorted(shared, key=lambda words: (-len(words), words))
