"""Made style sheets against what a browser makes of them on paper: `getComputedStyle` with print as its medium."""

import json
import random
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "report"))

from browser import browser, find_browser

from seamcheck.reading.base import Source
from seamcheck.reading.svg.css import INHERITED, Styles
from seamcheck.reading.svg.sheet import sheet_of
from seamcheck.reading.svg.tree import read_tree

EXECUTABLE = find_browser()
pytestmark = pytest.mark.skipif(EXECUTABLE is None, reason="no Chromium is installed to compare with")

TAGS = ("g", "path", "rect")
CLASSES = ("a", "b", "c")
LOOKS = """
[...document.querySelectorAll('[id]')].map((one) => {
  const style = getComputedStyle(one);
  return [one.id, style.display === 'none', style.visibility, style.fill === 'none', style.stroke === 'none',
          style.strokeDasharray === 'none', style.opacity === '0'];
})
"""


def simple(chance, *, nested=True):
    plain = [
        f".{chance.choice(CLASSES)}",
        f"#e{chance.randint(0, 25)}",
        f"[data-x='{chance.choice('pq')}']",
        "[data-x]",
        f"[class~={chance.choice(CLASSES)}]",
        f"[id^=e{chance.randint(1, 2)}]",
        ":first-child",
        ":last-of-type",
        f":nth-child({chance.choice(['odd', '2n', '3', '-n + 2'])})",
        ":empty",
        ":hover",
    ]
    if nested and chance.random() < 0.25:
        return f":{chance.choice(['not', 'is', 'where'])}({simple(chance, nested=False)}, .c)"
    return chance.choice(plain)


def compound(chance):
    tag = chance.choice(["", "", "*", *TAGS])
    return "".join([tag, *(simple(chance) for _ in range(chance.choice([0, 1, 1, 2])))]) or "*"


def selector(chance):
    joined = compound(chance)
    for _ in range(chance.choice([0, 0, 1, 1, 2, 4])):
        joined += chance.choice([" ", " > ", "+", " ~ ", "  ", "/**/ "]) + compound(chance)
    return joined


def declaration(chance):
    told = chance.choice(
        [
            "display:none", "display:inline", "display:INHERIT", "visibility:hidden", "visibility:visible", "visibility:unset",
            "fill:none", "fill:red", "fill:inherit", "stroke:blue", "stroke:initial", "stroke-dasharray:4 2",
            "stroke-dasharray:none", "opacity:0", "opacity:1", "fill red", "content:'};.a{'",
        ]
    )  # fmt: skip
    return told + chance.choice(["", "", " !important"])


def sheet(chance):
    rules = []
    for _ in range(25):
        block = ";".join(declaration(chance) for _ in range(chance.randint(1, 3)))
        rule = f"{', '.join(selector(chance) for _ in range(chance.randint(1, 2)))} {{ {block} }}"
        rules.append(
            chance.choice([rule, rule, f"@media {chance.choice(['print', 'screen', 'not screen'])} {{ {rule} }}"])
        )
    return "\n".join(rules)


def elements(chance, count):
    made, depth = [], 0
    for k in range(count):
        tag = chance.choice(TAGS)
        classes = " ".join(chance.sample(CLASSES, chance.randint(0, 2)))
        more = chance.choice(
            [
                "",
                " data-x='p'",
                " data-x='q'",
                " fill='none'",
                " style='stroke:red'",
                " style='display:inline!important'",
            ]
        )
        made.append(f"<{tag} id='e{k}' class='{classes}'{more}")
        if tag == "g" and depth < 6:
            made[-1] += ">"
            depth += 1
        else:
            made[-1] += "/>"
            if depth and chance.random() < 0.3:
                made.append("</g>")
                depth -= 1
    return "".join(made) + "</g>" * depth


def drawing(seed):
    chance = random.Random(seed)
    return (
        "<svg xmlns='http://www.w3.org/2000/svg' width='9mm' height='9mm'>"
        f"<style><![CDATA[{sheet(chance)}]]></style>{elements(chance, 26)}<style media='screen'>*{{display:none}}</style></svg>"
    )


def ours(text):
    source = Source("made.svg", text.encode())
    tree = read_tree(source)
    styles = Styles(sheet_of(tree, source), source)
    looks, waiting = {}, [(tree.root, INHERITED)]
    while waiting:
        node, inherited = waiting.pop()
        style = styles.of(node, inherited)
        waiting.extend((child, style) for child in node.children)
        if node.get("id"):
            looks[node.get("id")] = [
                style["display"] == "none",
                style["visibility"],
                style["fill"] == "none",
                style["stroke"] == "none",
                style["stroke-dasharray"] == "none",
                style["opacity"] == "0",
            ]
    return looks


def test_made_sheets_look_as_in_a_browser_on_paper(tmp_path):
    differ = 0
    with browser(EXECUTABLE) as window:
        window.call("Emulation.setEmulatedMedia", media="print")
        for seed in range(60):
            page = tmp_path / f"{seed}.svg"
            page.write_text(drawing(seed), encoding="utf-8")
            window.open(page)
            theirs = {identifier: looks for identifier, *looks in window.js(LOOKS)}
            assert ours(drawing(seed)) == theirs, json.dumps({"seed": seed})
            differ += len({str(looks) for looks in theirs.values()}) > 3
    assert differ > 30  # the sheets do tell elements apart
