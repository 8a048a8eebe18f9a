"""Reports made of the fixtures with their geometry, and a page as a parser sees it."""

from functools import cache
from html.parser import HTMLParser
from pathlib import Path

import judging
from drafted import drafted

from seamcheck.engine.report_format import RenderOptions
from seamcheck.engine.result import FileResult, Report
from seamcheck.report.html.page import render

FIXTURES = Path(__file__).parent.parent.parent / "fixtures"
DEMO = FIXTURES / "ferryhand"
CORPUS = drafted("corpus")
EMPTY = ("area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "wbr")


def judged(path: Path, plan: Path | None = None) -> FileResult:
    """A file judged as a format that draws has it."""
    return judging.judged(path, plan=plan)


def altered(name: str, suffix: str = ".svg", plan: str = "ferryhand") -> FileResult:
    return judged(DEMO / "altered" / f"{name}-left{suffix}", DEMO / f"{plan}.seams.toml")


@cache
def page(*files: FileResult) -> str:
    return render(Report(files=files), RenderOptions())


class Page(HTMLParser):
    """Tags must close in the order in which they opened; collects ids, links, text and attributes."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.ids: list[str] = []
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self.feed(text)
        self.close()
        assert self.open == [], f"never closed: {self.open}"

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        assert len(given) == len(attrs), f"an attribute twice in {self.get_starttag_text()}"
        self.elements.append((tag, given))
        if "id" in given:
            self.ids.append(given["id"])
        if tag not in EMPTY:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.handle_starttag(tag, attrs)
        if tag not in EMPTY:
            self.handle_endtag(tag)

    def handle_endtag(self, tag):
        assert self.open[-1:] == [tag], f"</{tag}> where {self.open[-3:]} are open, line {self.getpos()[0]}"
        self.open.pop()

    def handle_data(self, data):
        if not {"script", "style"} & set(self.open):
            self.words.append(data)

    @property
    def text(self) -> str:
        """All that is said, with single spaces."""
        return " ".join("".join(self.words).split())
