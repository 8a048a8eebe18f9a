"""The elements of an SVG file as a plain tree, read by a hardened parser within the budgets of the source.

The bytes go through expat once. Nothing outside the file is ever fetched. Small flat internal entities are
expanded, since general vector editors write them for namespaces; nested, large, external or parameter
entities are refused, and so is a tree that is too deep, too large or that would grow too large when its
`use` elements are followed.
"""

from __future__ import annotations

import gzip
import io
import zlib
from collections.abc import Iterator
from dataclasses import dataclass, field
from xml.parsers import expat

from seamcheck.errors import InputError
from seamcheck.places import Place
from seamcheck.reading.base import Source

GZIP = b"\x1f\x8b"
SAVE_AGAIN = "open it in the drawing program and save it again as plain SVG"

PREFIXES = {
    "http://www.w3.org/2000/svg": "",
    "http://www.w3.org/1999/xlink": "xlink:",
    "http://www.w3.org/XML/1998/namespace": "xml:",
    "http://www.inkscape.org/namespaces/inkscape": "inkscape:",
    "http://sodipodi.sourceforge.net/DTD/sodipodi-0.dtd": "sodipodi:",
    "http://www.serif.com/": "serif:",
}
_ENTITY_COUNT = 64
_ENTITY_LENGTH = 512

# Elements whose content is only drawn through a reference, or never (SVG 2, chapter 5 and 3.2).
UNDRAWN = frozenset({
    "defs", "symbol", "clipPath", "mask", "marker", "pattern", "linearGradient", "radialGradient", "metadata",
    "foreignObject", "filter", "style", "script", "title", "desc", "font", "cursor", "view", "animate",
    "animateMotion", "animateTransform", "set", "solidcolor", "hatch", "meshgradient", "color-profile",
})  # fmt: skip


@dataclass(eq=False, slots=True)
class Node:
    """One element. `tag` and attribute names are local for SVG and "prefix:name" for known other namespaces."""

    tag: str
    attributes: dict[str, str]
    line: int
    parent: Node | None = None
    content: list[Node | str] = field(default_factory=list)
    column: int | None = None
    span: tuple[int, int] = (0, 0)  # its bytes in the unpacked file
    inner_line: int = 0  # of a style element: the line in which its text begins

    @property
    def children(self) -> list[Node]:
        """The child elements in document order."""
        return [child for child in self.content if isinstance(child, Node)]

    @property
    def place(self) -> Place:
        """Words to find the element by in an editor."""
        identity = in_words(self.attributes.get("id", ""))
        words = f"element {identity}" if identity else f"{self.tag} element in line {self.line}"
        return Place(words, self.line, self.column)

    def get(self, name: str, default: str = "") -> str:
        """An attribute's text."""
        return self.attributes.get(name, default)

    def walk(self) -> Iterator[Node]:
        """This element and all below it in document order."""
        waiting = [self]
        while waiting:
            node = waiting.pop()
            yield node
            waiting.extend(reversed(node.children))

    def text(self) -> str:
        """All character data below, tails included, in document order."""
        waiting: list[Node | str] = [self]
        parts = []
        while waiting:
            item = waiting.pop()
            if isinstance(item, str):
                parts.append(item)
            else:
                waiting.extend(reversed(item.content))
        return "".join(parts)


def in_words(text: str, most: int = 80) -> str:
    """A text out of the file as it may stand in a message: on one line, printable and not too long."""
    plain = " ".join("".join(letter if letter.isprintable() else " " for letter in text[: most + 1]).split())
    return plain if len(text) <= most else plain[:most] + "..."


@dataclass(frozen=True, slots=True)
class Tree:
    """A whole document; `by_id` holds the first element of each id."""

    root: Node
    by_id: dict[str, Node]
    sheets_elsewhere: tuple[int, ...] = ()  # lines that name a style sheet outside of the file

    def target(self, use: Node) -> Node | None:
        """The element that a `use` shows; None when it is missing or in another file."""
        reference = use.get("href") or use.get("xlink:href")
        return self.by_id.get(reference[1:]) if reference.startswith("#") else None

    def drawn(self, node: Node, *, referenced: bool = False) -> list[Node]:
        """The children of an element that are drawn in place; none of a container that only waits for a reference."""
        if node.tag in UNDRAWN and not (referenced and node.tag == "symbol"):
            return []
        if node.tag == "switch":
            return _chosen(node)
        return node.children


def _chosen(switch: Node) -> list[Node]:
    """The child that a `switch` shows: the first that asks for nothing special, else English, else the first."""
    fit = [child for child in switch.children if not child.get("requiredExtensions")]
    fit = [child for child in fit if child.tag != "foreignObject"] or fit
    for child in fit:
        if "systemLanguage" not in child.attributes:
            return [child]
        if any(word.strip().lower().startswith("en") for word in child.get("systemLanguage").split(",")):
            return [child]
    return fit[:1]


def unpacked(source: Source) -> bytes:
    """The bytes of the XML; those of a compressed file are unpacked within `limits.bytes`."""
    if not source.data.startswith(GZIP):
        return source.data
    try:
        with gzip.GzipFile(fileobj=io.BytesIO(source.data)) as stream:
            data = stream.read(source.limits.bytes + 1)
    except (OSError, EOFError, zlib.error):
        raise InputError("the compressed file is damaged", path=source.path, remedy=SAVE_AGAIN) from None
    source.limits.check("bytes", len(data), "bytes after unpacking", path=source.path)
    return data


def read_tree(source: Source) -> Tree:
    """Parse the file; InputError for broken or hostile XML, and for more than the budgets allow."""
    builder = _Builder(source)
    try:
        builder.data = unpacked(source)
        builder.parser.Parse(builder.data, True)
    except expat.ExpatError as error:
        reason = expat.errors.messages.get(error.code, "not well-formed")
        raise InputError(
            f"the XML is broken ({reason})",
            path=source.path,
            place=Place(f"line {error.lineno}", error.lineno),
            remedy=SAVE_AGAIN,
        ) from None
    except (LookupError, UnicodeError, ValueError):
        raise InputError(
            "the text encoding that the file states is not known", path=source.path, remedy=SAVE_AGAIN
        ) from None
    root = builder.root
    if root is None or root.tag != "svg":
        name = in_words(root.tag) if root else "nothing"
        raise InputError(f"the file is XML, but holds {name} and no SVG drawing", path=source.path, remedy=SAVE_AGAIN)
    by_id: dict[str, Node] = {}
    for node in root.walk():
        by_id.setdefault(node.get("id"), node)
    by_id.pop("", None)
    tree = Tree(root, by_id, tuple(builder.sheets_elsewhere))
    _check_expansion(tree, source)
    return tree


class _Builder:
    """The expat handlers that make the tree and count while they do."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.data = b""
        self.root: Node | None = None
        self.open: list[Node] = []
        self.elements = self.entities = self.characters = 0
        self.sheets_elsewhere: list[int] = []
        self.parser = parser = expat.ParserCreate(namespace_separator=" ")
        parser.buffer_text = True
        parser.SetParamEntityParsing(expat.XML_PARAM_ENTITY_PARSING_NEVER)
        parser.StartElementHandler = self.start
        parser.EndElementHandler = self.end
        parser.CharacterDataHandler = self.text
        parser.CommentHandler = self.comment
        parser.ProcessingInstructionHandler = self.instruction
        parser.EntityDeclHandler = self.entity
        parser.SkippedEntityHandler = self.skipped
        parser.ExternalEntityRefHandler = self.external

    def start(self, name: str, attributes: dict[str, str]) -> None:
        at, line = self.line(), self.parser.CurrentLineNumber
        path, limits = self.source.path, self.source.limits
        self.elements += 1
        limits.check("elements", self.elements, "elements", path=path, place=at)
        limits.check("depth", len(self.open) + 1, "elements inside each other", path=path, place=at)
        for key, value in attributes.items():
            if len(value) > limits.attribute:
                what = f"characters in the attribute {in_words(_local(key))}"
                limits.check("attribute", len(value), what, path=path, place=at)
        parent = self.open[-1] if self.open else None
        node = Node(_local(name), {_local(key): value for key, value in attributes.items()}, line, parent)
        node.column = self.parser.CurrentColumnNumber + 1
        node.span = (self.parser.CurrentByteIndex, self.parser.CurrentByteIndex)
        if node.tag == "style":
            begin = node.span[0]
            node.inner_line = line + self.data.count(b"\n", begin, tag_end(self.data, begin))
        if parent is None:
            self.root = node
        else:
            parent.content.append(node)
        self.open.append(node)

    def end(self, name: str) -> None:
        node = self.open.pop()
        here = self.parser.CurrentByteIndex  # at the closing tag, or behind an element that is one tag
        alone = self.data[here - 2 : here] == b"/>" and tag_end(self.data, node.span[0]) == here
        node.span = (node.span[0], here if alone else tag_end(self.data, here))

    def text(self, data: str) -> None:
        self.characters += len(data)
        self.source.limits.check("bytes", self.characters, "characters of text", path=self.source.path)
        if self.open:
            self.open[-1].content.append(data)

    def instruction(self, target: str, data: str) -> None:
        if target == "xml-stylesheet":
            self.sheets_elsewhere.append(self.parser.CurrentLineNumber)

    def comment(self, data: str) -> None:
        if self.open and self.open[-1].tag == "style":
            self.open[-1].content.append("\n" * data.count("\n"))  # so that the lines behind it keep their numbers

    def entity(
        self,
        name: str,
        is_parameter: bool,
        value: str | None,
        base: str | None,
        system: str | None,
        public: str | None,
        notation: str | None,
    ) -> None:
        self.entities += 1
        if is_parameter or value is None:
            trouble = f"the entity {in_words(name)} points outside the file or into its declarations"
        elif "&" in value or "%" in value:
            trouble = f"the entity {in_words(name)} is made of other entities"
        elif len(value) > _ENTITY_LENGTH:
            trouble = f"the entity {in_words(name)} holds {len(value)} characters, more than the {_ENTITY_LENGTH} that are read"
        elif self.entities > _ENTITY_COUNT:
            trouble = f"more than {_ENTITY_COUNT} entities are declared"
        else:
            return
        raise InputError(
            f"{trouble}, which no drawing needs",
            path=self.source.path,
            place=self.line(),
            remedy=SAVE_AGAIN,
        )

    def skipped(self, name: str, is_parameter: bool) -> None:
        if not is_parameter:
            raise InputError(
                f"the entity {in_words(name)} is not declared in the file",
                path=self.source.path,
                place=self.line(),
                remedy=SAVE_AGAIN,
            )

    def line(self) -> Place:
        """The line that is being read."""
        line = self.parser.CurrentLineNumber
        return Place(f"line {line}", line)

    def external(self, *_: object) -> int:
        return 0  # expat then reports an error: nothing outside the file is read


def tag_end(data: bytes, start: int) -> int:
    """The byte behind the tag that begins at `start`, in a text whose ASCII letters are one byte each."""
    quote = 0
    for at in range(start, len(data)):
        letter = data[at]
        if quote:
            quote = 0 if letter == quote else quote
        elif letter in b"\"'":
            quote = letter
        elif letter == 0x3E:  # >
            return at + 1
    return len(data)


def _local(name: str) -> str:
    space, _, local = name.rpartition(" ")
    return PREFIXES.get(space, f"{{{space}}}") + local if space else local


def _check_expansion(tree: Tree, source: Source) -> None:
    """Count, without expanding, the elements that a walk from the root visits; refuse circles and bombs.

    The count of an element is one more than the sum over its drawn children and its `use` target, so every
    element is counted once however often it is shown.
    """
    sizes: dict[tuple[Node, bool], tuple[int, int]] = {}  # elements and depth below, by element and way to it
    entered: set[tuple[Node, bool]] = set()
    waiting = [(tree.root, False)]
    while waiting:
        key = waiting[-1]
        if key in sizes:
            waiting.pop()
            continue
        node, referenced = key
        below = [(child, False) for child in tree.drawn(node, referenced=referenced)]
        if node.tag == "use" and (target := tree.target(node)) is not None:
            below.append((target, True))
        if key not in entered:
            entered.add(key)
            for child in below:
                if child in entered and child not in sizes:
                    raise InputError(
                        "the element shows itself through its own use, so it would never end",
                        path=source.path,
                        place=child[0].place,
                        remedy="delete that use element or unlink the clone",
                    )
            waiting.extend(child for child in below if child not in sizes)
            continue
        waiting.pop()
        count = 1 + sum(sizes[child][0] for child in below)
        depth = 1 + max((sizes[child][1] for child in below), default=0)
        sizes[key] = (count, depth)
        # Checked on the way up, so that the numbers stay small.
        place = node.place
        source.limits.check("expanded", count, "elements once each use is followed", path=source.path, place=place)
        source.limits.check("depth", depth, "elements inside each other", path=source.path, place=place)
