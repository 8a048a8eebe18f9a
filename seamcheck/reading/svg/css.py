"""As much of CSS as tells how a line is drawn: hidden, painted, dashed, with an arrow.

Selectors may be made of a tag or `*`, ids and classes, joined by blanks or `>` (CSS Selectors 3). Whatever
else stands in a style sheet is kept by its text in `Stylesheet.skipped`. Order of weight: presentation
attributes, rules by specificity and order, the style attribute, `!important` (CSS Cascade 3).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from seamcheck.reading.svg.tree import Node, Tree

INHERITED = {
    "visibility": "visible",
    "stroke": "none",
    "fill": "black",
    "stroke-dasharray": "none",
    "stroke-width": "1",
    "stroke-opacity": "1",
    "fill-opacity": "1",
    "marker-start": "none",
    "marker-end": "none",
    "font-size": "16",
}
OWN = {
    "display": "inline",
    "opacity": "1",
    "clip-path": "none",
    "mask": "none",
    "transform": "",
    "transform-origin": "",
}
_KNOWN = INHERITED | OWN
_NUMBER = re.compile(r"\s*([+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?)")
_BRACE = re.compile(r"[{}]")
_COMPOUND = re.compile(r"(\*|[\w-]+)?((?:[.#][\w-]+)*)")
_PART = re.compile(r"([.#])([\w-]+)")

Style = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class _Compound:
    """One step of a selector; `child` tells that the step before it must match the parent itself."""

    tag: str
    ids: frozenset[str]
    classes: frozenset[str]
    child: bool

    def matches(self, node: Node) -> bool:
        return (
            self.tag in ("", "*", node.tag)
            and self.ids <= {node.get("id")}
            and self.classes <= set(node.get("class").split())
        )


@dataclass(frozen=True, slots=True)
class _Rule:
    steps: tuple[_Compound, ...]
    weight: tuple[int, int, int]
    declarations: dict[str, tuple[str, bool]]

    @property
    def key(self) -> str:
        """What an element must have for the rule to be worth trying: an id, a class or a tag, or "*" for any."""
        last = self.steps[-1]
        if last.ids:
            return "#" + min(last.ids)
        return "." + min(last.classes) if last.classes else last.tag or "*"

    def matches(self, node: Node) -> bool:
        """Whether the selector fits an element, in one pass from the root down to it."""
        if not self.steps[-1].matches(node):
            return False
        lineage = [node]
        while lineage[-1].parent is not None:
            lineage.append(lineage[-1].parent)
        # How many steps, from the first, can end at the element just passed, and at any passed so far.
        here, above = {0}, {0}
        for element in reversed(lineage):
            before = here
            here = {
                count
                for count, step in enumerate(self.steps, start=1)
                if count - 1 in (before if step.child else above) and step.matches(element)
            }
            above |= here
        return len(self.steps) in here


@dataclass(slots=True)
class Stylesheet:
    """All `<style>` elements of a file, wherever they stand; rules in rising weight."""

    rules: list[_Rule] = field(default_factory=list)
    by_key: dict[str, list[int]] = field(default_factory=dict)
    skipped: list[str] = field(default_factory=list)

    @classmethod
    def of(cls, tree: Tree) -> Stylesheet:
        """Read the style elements of a tree."""
        sheet = cls()
        for node in tree.root.walk():
            if node.tag == "style" and node.get("type", "text/css") in ("", "text/css"):
                sheet._read(node.text())
        sheet.rules.sort(key=lambda rule: rule.weight)
        for index, rule in enumerate(sheet.rules):
            sheet.by_key.setdefault(rule.key, []).append(index)
        return sheet

    def _read(self, css: str) -> None:
        css = _without_comments(css).replace("<!--", " ").replace("-->", " ")
        position = 0
        while (brace := css.find("{", position)) >= 0:
            end = _closing(css, brace)
            head = css[position:brace].rsplit(";", 1)[-1].strip()
            if head.startswith("@"):
                self.skipped.append(head)
            else:
                declarations = _declarations(css[brace + 1 : end])
                for selector in head.split(","):
                    self._add(selector.strip(), declarations)
            position = end + 1
        self.skipped.extend(part.strip() for part in css.split(";") if part.strip().startswith("@import"))

    def _add(self, selector: str, declarations: dict[str, tuple[str, bool]]) -> None:
        if not declarations:
            return
        steps: list[_Compound] = []
        child = False
        for token in selector.replace(">", " > ").split():
            if token == ">":
                child = True
                continue
            match = _COMPOUND.fullmatch(token)
            if match is None:
                self.skipped.append(selector)
                return
            parts = _PART.findall(match[2])
            ids = frozenset(name for kind, name in parts if kind == "#")
            classes = frozenset(name for kind, name in parts if kind == ".")
            steps.append(_Compound(match[1] or "", ids, classes, child))
            child = False
        if steps:
            weight = (
                sum(len(step.ids) for step in steps),
                sum(len(step.classes) for step in steps),
                sum(step.tag not in ("", "*") for step in steps),
            )
            self.rules.append(_Rule(tuple(steps), weight, declarations))

    def style(self, node: Node, inherited: Style) -> dict[str, str]:
        """The computed values of an element, given those of the element that it stands in."""
        declared = {name: (node.attributes[name], False) for name in _KNOWN if name in node.attributes}
        # A transform attribute has its own grammar; only a style may hold the CSS property of that name.
        for name in ("transform",):
            declared.pop(name, None)
        for rule in self._candidates(node):
            if rule.matches(node):
                _overlay(declared, rule.declarations)
        _overlay(declared, _declarations(node.get("style")))
        computed = dict(OWN)
        computed.update((name, inherited[name]) for name in INHERITED)
        for name, (value, _) in declared.items():
            if value == "inherit":
                value = inherited.get(name, _KNOWN[name])
            elif value in ("initial", "unset"):
                value = _KNOWN[name]
            computed[name] = value
        return computed

    def _candidates(self, node: Node) -> list[_Rule]:
        keys = {"*", node.tag, "#" + node.get("id"), *("." + name for name in node.get("class").split())}
        return [self.rules[index] for index in sorted(index for key in keys for index in self.by_key.get(key, ()))]


def _overlay(declared: dict[str, tuple[str, bool]], more: Mapping[str, tuple[str, bool]]) -> None:
    for name, (value, important) in more.items():
        if important or not declared.get(name, ("", False))[1]:
            declared[name] = (value, important)


def _without_comments(css: str) -> str:
    parts = []
    position = 0
    while (start := css.find("/*", position)) >= 0:
        parts.append(css[position:start])
        end = css.find("*/", start + 2)
        position = len(css) if end < 0 else end + 2
    return " ".join((*parts, css[position:]))


def _closing(css: str, brace: int) -> int:
    """The index of the brace that closes the one at `brace`; the end of the text when none does."""
    depth = 0
    for match in _BRACE.finditer(css, brace):
        depth += 1 if match[0] == "{" else -1
        if depth == 0:
            return match.start()
    return len(css)


def _declarations(text: str) -> dict[str, tuple[str, bool]]:
    """The known properties in a block of declarations, each with whether it is important."""
    found: dict[str, tuple[str, bool]] = {}
    for declaration in _without_comments(text).split(";"):
        name, colon, value = declaration.partition(":")
        name = name.strip().lower()
        value, bang, _ = value.strip().partition("!")
        names = ("marker-start", "marker-end") if name == "marker" else (name,)
        for each in names:
            if colon and each in _KNOWN:
                _overlay(found, {each: (value.strip(), bool(bang))})
    return found


def hides(style: Style) -> bool:
    """Whether an element and everything in it is not drawn."""
    return style["display"] == "none" or _amount(style["opacity"]) == 0.0


def unseen(style: Style) -> bool:
    """Whether an element itself leaves no trace: not visible, or neither stroked nor filled."""
    if style["visibility"] in ("hidden", "collapse"):
        return True
    filled = _paints(style["fill"]) and _amount(style["fill-opacity"]) != 0.0
    return not filled and not _stroked(style)


def dashed(style: Style) -> bool:
    """Whether an element is stroked with dashes."""
    lengths = style["stroke-dasharray"].replace(",", " ").split()
    return _stroked(style) and any(_amount(length) for length in lengths)


def _stroked(style: Style) -> bool:
    return (
        _paints(style["stroke"]) and _amount(style["stroke-opacity"]) != 0.0 and _amount(style["stroke-width"]) != 0.0
    )


def _paints(value: str) -> bool:
    return value.strip().lower() not in ("none", "transparent", "")


def _amount(text: str) -> float | None:
    match = _NUMBER.match(text)
    return float(match[1]) if match else None
