"""How a topic is laid out: paragraphs, rows of a name and what it means, and the keys of a table as they are written."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from seamcheck.config.keys import TableKeys
from seamcheck.engine.report_format import RenderOptions
from seamcheck.report.layout import paint, width_of, wrap

WIDEST_NAME = 30  # a longer name has its line to itself


def topic(parts: Iterable[str]) -> str:
    """The paragraphs of a topic, those that say something, one after the other."""
    return "\n\n".join(part for part in parts if part) + "\n"


def titled(title: str, lines: Iterable[str], options: RenderOptions) -> str:
    """Lines under a title that ends in a colon."""
    head = wrap(title, options)
    return "\n".join([*(paint(line, "strong", options) for line in head.split("\n")), *lines])


def rows(pairs: Sequence[tuple[str, str]], options: RenderOptions) -> list[str]:
    """A name and what it means, a row each, the meanings below one another."""
    widest = min(WIDEST_NAME, width_of(options) // 2)
    width = max((len(name) for name, _ in pairs if len(name) <= widest), default=0)
    lines = []
    for name, meaning in pairs:
        indent = " " * (width + 4)
        if not meaning:
            lines.append(f"  {name}")
        elif len(name) <= width:
            lines.append(wrap(f"{name:{width}}  {meaning}", options, indent="  ", hanging=indent))
        else:
            lines += [f"  {name}", wrap(meaning, options, indent=indent)]
    return lines


def table(keys: TableKeys, options: RenderOptions) -> str:
    """A table of a TOML file: its head, what it is, and each key as it may be written with what it means."""
    title = f"{keys.head}  {keys.meaning}" if keys.head else f"At {keys.meaning}:"
    pairs = [(f"{name} = {key.value}", key.meaning) for name, key in keys.keys.items()]
    return titled(title, rows(pairs, options), options)


def block(text: str) -> str:
    """A text to be copied, set in, to the letter."""
    return "\n".join(f"    {line}".rstrip() for line in text.rstrip("\n").split("\n"))
