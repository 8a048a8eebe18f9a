"""What is wrong with the sentences of a report as sentences, by rules that hold whatever they are about.

sentence  what a finding, its advice or a note says: it begins with a capital or a name and ends with a stop
clause    why something was not looked at, told behind a colon: it begins small, unless with a name, and has no stop
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator

from seamcheck.engine.causes import causes_of
from seamcheck.engine.result import FileResult
from seamcheck.report import telling

NAME = "\N{LEFT-POINTING DOUBLE ANGLE QUOTATION MARK}\N{RIGHT-POINTING DOUBLE ANGLE QUOTATION MARK}"  # for any name
_NOUN = (
    "arrow|band|corner|dart|edge|file|grainline|junction|layer|leg|line|outline|piece|place|pleat|point|seam|segment|side"
    "|size|text|tick|vertex|notch"
)
_NOUNS = _NOUN.replace("vertex|notch", "").replace("|", "s|") + "vertices|notches"
_NAMED = f"(?:{NAME}|[\\w.-]+)"
_NO_ARTICLE = r"(?!(?:a|an|the|its|their|this|that|each|every|one|either|both|no|which|another|what|any)\b)"

RULES: tuple[tuple[str, str], ...] = (
    ("a space too many", r"\s\s|\A\s|\s\Z|\( | \)|\s[,;:.!?](?=\s|\Z)"),
    ("a space too few", r"[a-z][,;:][A-Za-z]|[a-z]{2}\.(?:A|An|Do|If|In|It|Its|Likely|Move|No|So|The|This|Where)\b"),
    ("a word twice", r"(?i)(?<![\w.'-])([a-z]+) \1(?![\w.'-])"),
    ("a brace, or nothing in brackets or quotes", r"[{}]|\(\)|\[\]|\"\"(?! stands)"),
    ("a value of the program", r"\b(?:None|True|False|nan|inf)\b|<[A-Z]\w+[ :]"),
    ("two stops", r"(?<!\.)\.\.(?!\.)|[,;:!?][,;:.!?]|\.[,;:!?]|[,;:] [,;:.]"),
    ("one of many", rf"(?<![\w./,]|-)(?<!\d )1 (?:{_NOUNS})\b|\b(?i:a|an|one|each|every) (?:{_NOUNS})\b"),
    ("many of one", rf"(?<![\w./,]|-)(?!1 )\d+ (?:{_NOUN})\b|\b(?i:two|three|both|several|all) (?:{_NOUN})\b(?! by)"),
    ("a verb for one", rf"(?<!of its )(?<!of the )(?<!of the two )(?<!of \d )(?<!through the )\b(?:{_NOUNS}) (?:is|has|was|does)\b|\bthere (?:is|was) (?!1 )\d+ (?!mm|of)|\bthey (?:is|has)\b"),
    ("a verb for many", rf"(?<!and )(?<!of )(?i:\bthe|\ba|\bone|\beach|\bits) (?:{_NOUN}) (?:are|have|were|do)\b|\bthere are 1\b|(?:\A|[.;,:] )(?i:it) (?:are|have)\b"),
    ("what takes two said of one", rf"\bWhere {_NAMED} (?:come together|meet)\b|\bbetween {_NAMED}(?: of {_NAMED})?[.,;:]"),
    ("the wrong article", r"(?i)\ba (?:[aeio](?!ne\b|nce\b)|un[^i])\w*|\ban (?:[bcdfgjklmnpqrstvwxyz]|uni)\w*|\b(?:a|an) the\b|\bthe (?:a|an)\b"),
    ("no article", rf"\b(?:at|from|near|beside|past|beyond|along|to|by) {_NO_ARTICLE}(?:[\w-]+ |{NAME} )?(?:end|edge|line|outline|arrow) of\b"),
    ("a nought counted", rf"(?<![\w./,] )\b0 (?:{_NOUNS})\b"),
    ("a number for a name", r"(?<![\w-])(?:[\w-]+\.)?c\d+'*(?![\w-])"),
)  # fmt: skip
_RULES = [(name, re.compile(pattern)) for name, pattern in RULES]
_QUOTED = re.compile(r"\"[^\"]*\"")
_THING = re.compile(r"[^.:]{1,60}: ")  # what the file calls something, and what is said of it
_STOPPED = re.compile(r"(?<!\.\.)[.!?] +([a-z])")
# What a person types stands as it is typed.
_TYPED = re.compile(
    r"\b\w[\w-]* = (?:\.\.\.|\[[^]]*\]|\"[^\"]*\"|[^\s,;)]+)|\[\[\w+\]\]|(?<!\w)--?[a-z][\w-]*|seamcheck \w+ FILE.*"
)


def mistakes(said: str, names: Collection[str] = (), *, clause: bool = False) -> list[str]:
    """What is wrong with a sentence, or with a clause; `names` are the pattern's own, which are as they are."""
    words = _QUOTED.sub(lambda quoted: f'"{NAME}"' if len(quoted[0]) > 2 else '""', said)
    words = _TYPED.sub(NAME, words)
    for name in sorted(names, key=len, reverse=True):
        words = re.sub(rf"(?<![\w.-]){re.escape(name)}(?![\w-])", NAME, words) if name in words else words
    found = [f"{name}: {match[0]!r}" for name, rule in _RULES if (match := rule.search(words))]
    if words.count("(") != words.count(")") or words.count('"') % 2:
        found.append("a bracket or a quote left open")
    if match := _STOPPED.search(words):
        found.append(f"a small letter behind a stop: {match[0]!r}")
    if clause and words.endswith("."):
        found.append("a stop behind a clause")
    if not clause and not words.endswith((".", "!", "?", NAME, f'"{NAME}"')):
        found.append("no stop at the end")
    if not clause and words[:1].islower() and not _THING.match(words):
        found.append("a small letter at the head")
    return found


def names_in(file: FileResult) -> set[str]:
    """The names of pieces, edges, corners and seams that a result bears."""
    names = {*file.pieces, *file.open_edges, *file.planned, *file.sizes, *(seam.name for seam in file.seams)}
    names.update(corner for junction in file.junctions for corner in junction.corners)
    names.update(edge.lstrip("-") for seam in file.seams for side in (seam.first, seam.second) for edge in side.edges)
    for finding in file.findings:
        names.update((*finding.pieces, *(edge.lstrip("-") for edge in finding.edges)))
    for one in file.skipped:
        names.update((*one.corners, one.piece or "", one.seam or ""))
    return {*names, *(name.rpartition(".")[2] for name in names)} - {""}


def badly_said(file: FileResult) -> Iterator[str]:
    """Every sentence of a result with something wrong in it, and what."""
    names = names_in(file)
    sentences = [said for finding in file.findings for said in (finding.message, finding.advice)]
    for cause in causes_of(file):
        sentences += [str(telling.describe(cause.head)), *map(str, telling.steps(cause))]
        sentences += [str(telling.ended(said)) for _, said in telling.other_ways(cause)]
        sentences += [] if cause.probably is None else [str(telling.ended(cause.probably))]
    if file.sizes:
        sentences += [said for said in (telling.looked_at(file), telling.left_out(file)) if said]
    for said in dict.fromkeys(sentences):
        yield from _told(said, mistakes(said, names))
    for note in file.notes:
        yield from _told(note.message, mistakes(note.message, names))
    for one in file.skipped:
        said = str(one.why)
        yield from _told(said, mistakes(said, names, clause=True))
    for failure in file.failures:
        told = str(failure)  # its remedy may be sentences of its own
        yield from _told(told, mistakes(told, names, clause=not told.endswith(".")))


def _told(said: str, wrong: list[str]) -> Iterator[str]:
    if wrong:
        yield f"{'; '.join(wrong)} in: {said}"
