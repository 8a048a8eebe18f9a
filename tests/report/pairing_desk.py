"""The page of a proposal in a browser, as a person uses it."""

import json

from seamcheck.config.plan_file import parse_plan
from seamcheck.pattern.plan import Plan, SeamPlan


class Desk:
    """The page of a proposal as a person has it before them."""

    def __init__(self, window, path):
        self.window = window
        window.open(path)
        window.js("localStorage.clear()")
        window.open(path)

    def text(self) -> str:
        return self.window.js("document.getElementById('plan').value")

    def plan(self) -> Plan:
        return parse_plan(self.text())

    def said(self) -> str:
        return self.window.js("document.getElementById('said').textContent")

    def seam(self, name: str) -> SeamPlan:
        return next(seam for seam in self.plan().seams if seam.name == name)

    def sewn(self, name: str) -> tuple[list[str], list[str]]:
        first, second = self.seam(name).sides
        return [str(use) for use in first], [str(use) for use in second]

    def names(self) -> list[str]:
        return [seam.name for seam in self.plan().seams]

    def edge(self, key: str) -> None:
        """Click on an edge in the picture, where no other lies above it."""
        spot = self.window.js(
            f"(() => {{ const option = document.querySelector('[data-edge={json.dumps(key)}]'),"
            "line = option.querySelector('.hit'); line.scrollIntoView({block: 'center', inline: 'center', behavior: 'instant'});"
            "for (const share of [.5, .4, .6, .3, .7, .2, .8, .1, .9]) {"
            "  const p = line.getPointAtLength(line.getTotalLength() * share).matrixTransform(line.getScreenCTM());"
            "  if (option.contains(document.elementFromPoint(p.x, p.y))) return [p.x, p.y]; }"
            "return null; })()"
        )
        assert spot, f"{key} cannot be clicked"
        self.window.click_at(*spot)

    def button(self, label: str) -> None:
        """Click the button of that label or text, the one in the panel where a list has it too."""
        found = self.window.js(
            "(() => { document.querySelectorAll('[data-test]').forEach((e) => e.removeAttribute('data-test'));"
            "const named = [...document.querySelectorAll('button')].filter((e) =>"
            f" (e.getAttribute('aria-label') ?? e.textContent.trim()) === {json.dumps(label)});"
            "const mine = named.filter((e) => e.closest('#chosen')), found = mine.length ? mine : named;"
            "found[0]?.setAttribute('data-test', ''); return found.length; })()"
        )
        assert found == 1, f"{found} buttons are called {label}"
        self.window.click("[data-test]")

    def chosen(self) -> list[str]:
        """What is chosen: edges on the table, and the form of a seam."""
        return self.window.js(
            "[...document.querySelectorAll('[aria-selected=true], #chosen form, .rows li.chosen')]"
            ".map((e) => e.dataset.edge ?? e.tagName)"
        )

    def choose_seam(self, number: int, name: str) -> None:
        self.button(f"Seam {number}, {name}")

    def write(self, selector: str, text: str, key: str = "Tab") -> None:
        """Click into a field, write over what is in it, and leave it."""
        self.window.click(selector)
        self.window.js(f"document.querySelector({json.dumps(selector)}).select()")
        self.window.type(text)
        self.window.key(key)

    def allow(self, kind: str, number: int, *, least: str, most: str = "") -> None:
        self.window.click(f"input[name='kind-{number}'][value={kind}]")
        self.write(f"#from-{number}", least)
        self.write(f"#to-{number}", most)
