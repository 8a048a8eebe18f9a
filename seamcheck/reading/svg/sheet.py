"""The style sheets of an SVG file: which of their declarations hold for which element.

Text is taken apart by tinycss2 (CSS Syntax 3) and what stands between two combinators is matched by cssselect2
(Selectors 4); both are imported for a file that has a style sheet and for no other. Combinators are followed here, from
the element outwards and one step after the other, so that a selector of a hundred steps costs a hundred steps and not
every way to spread them over the ancestors. Every step is counted against `limits.matches`.

print     A pattern is what its print shows: it is the paper that is cut. So `@media print` and `@media all` hold, and
          `@media screen` does not. A condition on the page (`(min-width: 10cm)`) has no answer here: such rules are
          not applied, and are told.
hover     No pointer and no cursor is on paper, so `:hover` and its like never match.
told      `Sheet.skipped` lists, with their lines, rules and declarations that CSS throws away (errors) or that are not
          followed here: `@import` (nothing outside of the file is read), `@supports`, `@layer`, `@container`, rules inside of
          rules, `:has()`, and combinators inside of `:is()`, `:where()` and `:not()`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any
from xml.etree.ElementTree import Element

from seamcheck.places import Place
from seamcheck.reading.svg.tree import PREFIXES, Node, Tree, in_words

if TYPE_CHECKING:
    from cssselect2 import ElementWrapper

    from seamcheck.reading.base import Source

Declared = Mapping[str, tuple[str, bool]]  # name -> value, and whether it is important

_DRAWS_NOTHING = frozenset({"charset", "font-face", "page", "counter-style", "property", "font-feature-values"})
_MEDIA_OF_PAPER = frozenset({"all", "print"})
_COMBINATORS = frozenset({">", "+", "~"})
_NESTED = frozenset({"is", "where", "not"})
_DEEPEST = 8  # of selectors inside selectors
_EMBEDDED = re.compile(r"""(url\(\s*["']?data:)[^)"'\s]{1000,}""")  # fonts and pictures, which tell nothing of a line
_COMPILED = 250  # steps that take as long as to make a test of what stands between two combinators


class _NotFollowedError(ValueError):
    """A selector that is broken, or that nothing here follows."""


@dataclass(frozen=True, slots=True)
class _Compound:
    """What stands between two combinators, as a test of one element."""

    test: Any
    specificity: tuple[int, int, int]
    key: str  # what an element must have for the test to be worth trying: "#id", ".class" or a tag; "*" for any
    never: bool
    among_siblings: bool  # the test looks at all siblings


@dataclass(frozen=True, slots=True)
class _Rule:
    compounds: tuple[_Compound, ...]
    combinators: tuple[str, ...]  # between them; " ", ">", "+" or "~"
    weight: tuple[int, int, int]
    declarations: Declared


@dataclass(slots=True)
class Sheet:
    """All rules of a file that hold on paper, in rising weight, and what of its style sheets was passed over."""

    source: Source
    rules: list[_Rule] = field(default_factory=list)
    skipped: list[str] = field(default_factory=list)
    _by_key: dict[str, list[int]] = field(default_factory=dict)
    _elements: dict[Node, ElementWrapper] = field(default_factory=dict)
    _found: dict[Node, tuple[Declared, ...]] = field(default_factory=dict)
    _compounds: dict[str, _Compound] = field(default_factory=dict)
    _namespaces: dict[str | None, str] = field(default_factory=dict)
    _steps: int = 0
    _where: Place | str = ""  # what is looked at: a style sheet, then an element

    def declared(self, node: Node) -> tuple[Declared, ...]:
        """What the rules declare for an element, the weightiest last; InputError where matching takes too many steps."""
        found = self._found.get(node) if self.rules else ()
        if found is None:
            element, self._where = self._elements[node], node.place
            keys = {"*", element.local_name, f"#{element.id}", *(f".{name}" for name in element.classes)}
            rules = (self.rules[at] for at in sorted(at for key in keys for at in self._by_key.get(key, ())))
            found = tuple(rule.declarations for rule in rules if self._matches(rule, element))
            self._count(2 * len(found))  # what holds is laid over what held before
            self._found[node] = found
        return found

    def _matches(self, rule: _Rule, element: ElementWrapper) -> bool:
        """Whether a selector fits: the elements at which its rest can end are followed from step to step."""
        ends = [element]
        for at in range(len(rule.compounds) - 1, -1, -1):
            compound = rule.compounds[at]
            fit = []
            for one in ends:
                self._count(len(one.etree_siblings) if compound.among_siblings else 1)
                if compound.test(one):
                    fit.append(one)
            if not fit:
                return False
            if at:
                ends = list(self._across(rule.combinators[at - 1], fit))
        return True

    def _across(self, combinator: str, elements: Sequence[ElementWrapper]) -> Iterator[ElementWrapper]:
        """The elements on the other side of a combinator, each once."""
        seen: set[int] = set()
        sideways, on = combinator in "+~", combinator in " ~"
        for element in elements:
            other = element.previous if sideways else element.parent
            while other is not None and id(other) not in seen:
                self._count(1)
                seen.add(id(other))
                yield other
                other = (other.previous if sideways else other.parent) if on else None

    def _count(self, steps: int) -> None:
        self._steps += steps
        if self._steps > self.source.limits.matches:
            what = "steps to find out which style rules hold for which element"
            self.source.limits.check("matches", self._steps, what, path=self.source.path, place=self._where)

    # Reading

    def add(self, css: str, first_line: int) -> None:
        """Read one style sheet whose text begins in a line of the file."""
        import tinycss2

        self._add_rules(tinycss2.parse_stylesheet(css, skip_comments=True, skip_whitespace=True), first_line - 1)

    def _add_rules(self, parsed: Iterable[Any], lines: int) -> None:
        """Rules in the order in which they stand; `lines` stand in the file before the sheet that they are in."""
        import tinycss2

        waiting = [iter(parsed)]
        while waiting:
            for one in waiting[-1]:
                line = one.source_line + lines
                if one.type == "qualified-rule":
                    self._add_rule(one, lines)
                elif one.type == "error":
                    self.skip(one.message, line)
                elif one.lower_at_keyword == "namespace":
                    self._add_namespace(one.prelude)
                elif one.lower_at_keyword == "media" and one.content is not None:
                    applies = media_applies(one.prelude)
                    if applies:
                        inside = tinycss2.parse_rule_list(one.content, skip_comments=True, skip_whitespace=True)
                        waiting.append(iter(inside))
                        break
                    if applies is None:
                        self.skip(f"@media{_written(one.prelude)}", line)
                elif one.lower_at_keyword not in _DRAWS_NOTHING:
                    self.skip(f"@{one.at_keyword}{_written(one.prelude)}", line)
            else:
                waiting.pop()

    def _add_rule(self, parsed: Any, lines: int) -> None:
        declarations = self._read_block(parsed.content, lines)
        try:
            # One selector that is wrong takes the whole rule with it (Selectors 4, section 3.9).
            chains = [self._chain(tokens) for tokens in _parted(parsed.prelude)]
        except _NotFollowedError:
            self.skip(_written(parsed.prelude), parsed.source_line + lines)
            return
        for chain in chains:
            if chain is not None and declarations:
                compounds, combinators = chain
                first, second, third = (
                    sum(each) for each in zip(*(one.specificity for one in compounds), strict=True)
                )
                self.rules.append(_Rule(compounds, combinators, (first, second, third), declarations))

    def _read_block(self, content: Sequence[Any], lines: int) -> Declared:
        found: dict[str, tuple[str, bool]] = {}
        for one in _block(content):
            if one.type == "declaration":
                overlay(found, {one.lower_name: (_value(one.value), one.important)})
            else:
                what = one.message if one.type == "error" else _written(getattr(one, "prelude", ()))
                self.skip(f"{what} inside of a rule", one.source_line + lines)
        return found

    def _chain(self, tokens: Sequence[Any]) -> tuple[tuple[_Compound, ...], tuple[str, ...]] | None:
        """The parts of a selector and what joins them; None where it can match no element of a drawing."""
        groups: list[list[Any]] = [[]]
        combinators: list[str] = []
        blank = False
        for token in tokens:
            if token.type in ("whitespace", "comment"):
                blank = blank or token.type == "whitespace"
            elif token.type == "literal" and token.value in _COMBINATORS:
                if not groups[-1]:
                    raise _NotFollowedError
                groups.append([])
                combinators.append(token.value)
                blank = False
            else:
                if blank and groups[-1]:
                    groups.append([])
                    combinators.append(" ")
                groups[-1].append(token)
                blank = False
        compounds = tuple(self._compound(group) for group in groups)
        return None if any(one.never for one in compounds) else (compounds, tuple(combinators))

    def _compound(self, tokens: Sequence[Any]) -> _Compound:
        import cssselect2

        if not tokens or any(token.type == "error" for token in tokens):
            raise _NotFollowedError
        written = _written(tokens)
        found = self._compounds.get(written)
        if found is None:
            _check_nested(tokens)
            self._count(_COMPILED)
            try:
                (compiled,) = cssselect2.compile_selector_list(tokens, self._namespaces)
            except (ValueError, NotImplementedError, SyntaxError, RecursionError, MemoryError):
                raise _NotFollowedError from None
            found = _Compound(
                compiled.test,
                compiled.specificity,
                _key(tokens),
                compiled.never_matches or compiled.pseudo_element is not None,
                "of-type" in written,
            )
            self._compounds[written] = found
        return found

    def _add_namespace(self, prelude: Sequence[Any]) -> None:
        names = [token.value for token in prelude if token.type in ("ident", "string", "url")]
        if len(names) in (1, 2):
            self._namespaces[names[0] if len(names) == 2 else None] = names[-1]

    def skip(self, what: str, line: int) -> None:
        """Keep in words what is not applied."""
        self.skipped.append(f"{in_words(what.strip())} (line {line})")

    def complete(self, tree: Tree) -> None:
        """Order the rules and lay the tree out for them."""
        from cssselect2 import ElementWrapper

        self.rules.sort(key=lambda rule: rule.weight)
        for at, rule in enumerate(self.rules):
            self._by_key.setdefault(rule.compounds[-1].key, []).append(at)
        if self.rules:
            wrapped = ElementWrapper.from_xml_root(_etree(tree.root)).iter_subtree()
            self._elements = dict(zip(tree.root.walk(), wrapped, strict=True))


def sheet_of(tree: Tree, source: Source) -> Sheet | None:
    """The style sheets of a file, wherever they stand; None where it has none."""
    texts = [
        (node, _EMBEDDED.sub(r"\1", node.text()))
        for node in tree.root.walk()
        if node.tag == "style" and _is_css(node)
    ]
    sheet = Sheet(source)
    for line in tree.sheets_elsewhere:
        sheet.skip("a style sheet outside of the file", line)
    if not any(text.strip() for _, text in texts):
        return sheet if sheet.skipped else None
    import tinycss2

    characters = sum(len(text) for _, text in texts)
    source.limits.check(
        "stylesheet", characters, "characters of style sheets", path=source.path, place=texts[0][0].place
    )
    for node, text in texts:
        sheet._where = node.place
        media = node.get("media")
        applies = media_applies(tinycss2.parse_component_value_list(media)) if media.strip() else True
        if applies:
            sheet.add(text, node.inner_line)
        elif applies is None:
            sheet.skip(f"style element for {media}", node.line)
    sheet.complete(tree)
    return sheet


def _is_css(node: Node) -> bool:
    return node.get("type", "text/css").partition(";")[0].strip().lower() in ("", "text/css")


def read_declarations(text: str) -> dict[str, tuple[str, bool]]:
    """The declarations of a style attribute; what CSS cannot read is left out."""
    found: dict[str, tuple[str, bool]] = {}
    for one in _block(text):
        if one.type == "declaration":
            overlay(found, {one.lower_name: (_value(one.value), one.important)})
    return found


def overlay(declared: dict[str, tuple[str, bool]], more: Declared) -> None:
    """Lay declarations over others of no more weight: an important one yields to important ones alone."""
    for name, (value, important) in more.items():
        for each in ("marker-start", "marker-mid", "marker-end") if name == "marker" else (name,):
            if important or not declared.get(each, ("", False))[1]:
                declared[each] = (value, important)


def media_applies(prelude: Sequence[Any]) -> bool | None:
    """Whether a list of media queries holds for paper (Media Queries 4, section 3); None where that depends on more."""
    queries = [_query_applies(tokens) for tokens in _parted(prelude)]
    if any(queries):
        return True
    return None if None in queries else False


def _query_applies(tokens: Sequence[Any]) -> bool | None:
    words = [token for token in tokens if token.type not in ("whitespace", "comment")]
    if not words:
        return True
    negated = words[0].type == "ident" and words[0].lower_value == "not"
    if words[0].type == "ident" and words[0].lower_value in ("not", "only"):
        words = words[1:]
    if not words or words[0].type != "ident":
        return None
    of_paper = words[0].lower_value in _MEDIA_OF_PAPER
    applies = None if of_paper and len(words) > 1 else of_paper  # a condition may still rule it out
    return not applies if negated and applies is not None else applies


def _block(content: Any) -> Any:
    import tinycss2

    return tinycss2.parse_blocks_contents(content, skip_comments=True, skip_whitespace=True)


def _parted(tokens: Sequence[Any]) -> list[list[Any]]:
    """Tokens between commas."""
    parts: list[list[Any]] = [[]]
    for token in tokens:
        if token.type == "literal" and token.value == ",":
            parts.append([])
        else:
            parts[-1].append(token)
    return parts


def _check_nested(tokens: Sequence[Any], depth: int = 0) -> None:
    """Refuse what would make one test look at many elements, or at itself without end."""
    for token in tokens:
        if token.type != "function":
            continue
        if token.lower_name in _NESTED:
            parts = [_trimmed(part) for part in _parted(token.arguments)]
            joined = any(
                inner.type == "whitespace" or (inner.type == "literal" and inner.value in _COMBINATORS)
                for part in parts
                for inner in part
            )
            if joined or depth >= _DEEPEST:
                raise _NotFollowedError
            for part in parts:
                _check_nested(part, depth + 1)
        elif token.lower_name == "has" or any(
            inner.type == "ident" and inner.value == "of" for inner in token.arguments
        ):
            raise _NotFollowedError


def _trimmed(tokens: Sequence[Any]) -> Sequence[Any]:
    kept = [token for token in tokens if token.type != "comment"]
    while kept and kept[0].type == "whitespace":
        del kept[0]
    while kept and kept[-1].type == "whitespace":
        del kept[-1]
    return kept


def _key(tokens: Sequence[Any]) -> str:
    """The narrowest of what a compound asks of an element by its own tokens."""
    found = {"#": "", ".": "", "": ""}
    for k, token in enumerate(tokens):
        before = _sign(tokens[k - 1]) if k else ""
        if token.type == "hash":
            found["#"] = f"#{token.value}"
        elif token.type == "ident" and before == ".":
            found["."] = f".{token.value}"
        elif token.type == "ident" and before in ("", "|") and "|" not in map(_sign, tokens[k + 1 : k + 2]):
            found[""] = token.value
    return found["#"] or found["."] or found[""] or "*"


def _sign(token: Any) -> str:
    """The sign that a token is; "" where it is none."""
    return str(token.value) if token.type == "literal" else ""


def _value(tokens: Sequence[Any]) -> str:
    """A value as it is compared: without comments, keywords in small letters and with their escapes undone."""
    words = []
    for token in tokens:
        if token.type == "ident":
            words.append(token.lower_value)
        elif token.type == "url":
            words.append(f"url({token.value})")
        elif token.type != "comment":
            words.append(token.serialize())
    return "".join(words).strip()


def _written(tokens: Sequence[Any]) -> str:
    return "".join(token.serialize() for token in tokens if token.type not in ("comment", "error"))


def _etree(root: Node) -> Element:
    """The tree as cssselect2 takes it, names with the namespaces that they stand in."""
    made = {root: Element(_name(root.tag, _SVG))}
    for node in root.walk():
        element = made[node]
        for name, value in node.attributes.items():
            element.set(_name(name, ""), value)
        for child in node.children:
            made[child] = Element(_name(child.tag, _SVG))
            element.append(made[child])
        element.text = "".join(item for item in node.content if isinstance(item, str))
    return made[root]


_URLS = {prefix: url for url, prefix in PREFIXES.items()}
_SVG = _URLS[""]


def _name(name: str, default: str) -> str:
    if name.startswith("{"):
        return name
    prefix, colon, local = name.rpartition(":")
    url = _URLS.get(prefix + colon, "") if colon else default
    return f"{{{url}}}{local}" if url else name
