"""A person who knows what is sewn to what, at the page of `watch`: with the mouse, with the keys alone, or with a finger.

What the page shows is read from it; what is done goes in as hands do it. `acts` counts clicks, taps, or the times that Enter is pressed.
"""

from __future__ import annotations

import json
import time
from pathlib import Path
from typing import NamedTuple

from seamcheck.engine.read import Request, read
from seamcheck.engine.workspace import Shops
from seamcheck.pattern.model import Edge

NEAR = 3.0  # mm by which the ends of an edge may lie apart in two plans of one drawing
MOST = 200  # acts, after which it is no use any more
PATIENCE = 120.0
AT_REST = "!host.busy && !fetching && !waiting && !seeking && newest <= drawn"  # the page has nothing more to say

Sides = frozenset[frozenset[str]]


def open_at(window, served):
    """Open the page of a server, and wait until it has nothing more to say."""
    window.go("about:blank")  # who was open before has nothing more to say
    window.go(served.address)
    window.wait(AT_REST)
    return window


def said(window) -> str:
    """What the page said last."""
    return window.js("document.getElementById('said').textContent")


class Truth(NamedTuple):
    """What is sewn, in the names of the page, and what stays free; `lost` are seams that have no names there."""

    seams: frozenset[Sides]
    free: frozenset[str]
    lost: tuple[str, ...]


def truth_of(drawing: Path, pieces: dict[str, list[dict]], *plans: tuple[Path, Path, complex]) -> Truth:
    """The true plans of drawings, in the names that the page has for the edges of `drawing`, which holds them all.

    `pieces` are the edges of the page by the piece's name in the file; a plan comes with the drawing that it is of, and how far that
    was moved.
    """
    seams: set[Sides] = set()
    free: set[str] = set()
    lost: list[str] = []
    for path, plan_path, moved in plans:
        registry = Shops(plugins=False).tolerant(str(path))
        pattern, plan = read(str(path), Request(plan=plan_path), registry[1], registry[0])
        assert plan is not None
        size = pattern.sizes[len(pattern.sizes) // 2]
        cover = {
            f"{piece.name}.{edge.name}": _covering(edge, moved, pieces)
            for piece in pattern.in_size(size)
            for edge in piece.edges
            if edge.named
        }
        for seam in plan.seams:
            sides = [[cover.get(use.name) for use in side] for side in seam.sides]
            if any(one is None for side in sides for one in side):
                lost.append(seam.name)
            else:
                seams.add(frozenset(frozenset(name for one in side for name in one or ()) for side in sides))
        for piece in plan.pieces:
            for edge in (*piece.unsewn, *((piece.fold,) if piece.fold else ())):
                free |= set(cover.get(f"{piece.name}.{edge}") or ())
    return Truth(frozenset(seams), frozenset(free), tuple(lost))


def _covering(edge: Edge, moved: complex, pieces: dict[str, list[dict]]) -> tuple[str, ...] | None:
    """The edges of the page that lie along an edge, in a row."""
    ends = edge.runs[0].start + moved, edge.runs[-1].end + moved
    best: tuple[str, ...] | None = None
    for own in pieces.values():
        for first in range(len(own)):
            row: list[dict] = []
            for k in range(len(own)):
                row.append(own[(first + k) % len(own)])
                whole = complex(*row[0]["from"]), complex(*row[-1]["to"])
                length = sum(one["length"] for one in row)
                near = any(abs(a - ends[0]) < NEAR and abs(b - ends[1]) < NEAR for a, b in (whole, whole[::-1]))
                if near and abs(length - edge.length) < 0.05 * edge.length + 2 * NEAR:
                    best = min(best or (), tuple(one["key"] for one in row), key=lambda one: len(one) or 99)
    return best


class Person:
    """`means` is "mouse", "keys" or "touch"."""

    def __init__(self, window, truth: Truth, means: str = "mouse") -> None:
        self.window, self.truth, self.means = window, truth, means
        self.acts = 0
        self.log: list[str] = []

    # What is seen

    def rest(self) -> None:
        """Wait until the page has nothing more to say."""
        end = time.monotonic() + PATIENCE
        while not self.window.js(AT_REST):
            assert time.monotonic() < end, "the page never comes to rest"
            time.sleep(0.02)

    def seams(self) -> tuple[dict[Sides, dict], dict[Sides, dict]]:
        """What is sewn, and what is asked."""
        told = self.window.js(
            "state.seams.map((s) => ({id: s.id, asked: s.asked, likely: likelyOf(s), sides: s.sides}))"
        )
        sewn, asked = {}, {}
        for one in told:
            sides = frozenset(frozenset(use["edge"] for use in side) for side in one["sides"])
            (asked if one["asked"] else sewn)[sides] = one
        return sewn, asked

    # What is done

    def press(self, focus: str) -> None:
        """Press the button that is known by this."""
        self.acts += 1
        self.log.append(focus)
        selector = (
            f"[data-focus={json.dumps(focus)}], #{focus}" if " " not in focus else f"[data-focus={json.dumps(focus)}]"
        )
        if self.means == "keys":
            self._tab(f"document.activeElement.matches({json.dumps(selector)})")
            self.window.key("Enter")
        else:
            self.window.click(selector) if self.means == "mouse" else self.window.tap(selector)
        self.rest()

    def edge(self, key: str) -> None:
        """Choose an edge on the table."""
        self.acts += 1
        self.log.append(key)
        if self.means == "keys":
            self._go(key)
            self.window.key("Enter")
        else:
            spot = self.window.js(
                f"(() => {{ const key = {json.dumps(key)}, all = samples(key); showEdges([key]);"
                "$('pane').scrollIntoView({block: 'nearest', behavior: 'instant'}); const room = pane();"
                "for (const share of [.5, .4, .6, .3, .7, .2, .8]) { const [x, y] = all[Math.round(share * SAMPLES)];"
                "const at = {x: room.left + (x - view.x) * scale, y: room.top + (y - view.y) * scale};"
                f"if (edgeAt(at.x, at.y, '{self.means}')?.key === key && document.elementFromPoint(at.x, at.y)?.closest('#sheet')) return [at.x, at.y]; }}"
                "return null; })()"
            )
            assert spot, f"{key} cannot be reached"
            (self.window.click_at if self.means == "mouse" else self.window.tap_at)(*spot)
        self.rest()

    def _tab(self, reached: str) -> None:
        for _ in range(400):
            if self.window.js(reached):
                return
            self.window.key("Tab")
        raise AssertionError(f"the Tab key does not reach {reached}")

    def _go(self, key: str) -> None:
        """Go to an edge with Tab and the arrow keys; again where a newer state has drawn the table anew under the keys."""
        here = "document.activeElement?.dataset?.edge ?? ''"
        for _ in range(3):
            self._tab(f"Boolean({here})")
            for arrow, same in (
                ("ArrowDown", lambda now: now.split(".")[0] == key.split(".")[0]),
                ("ArrowRight", lambda now: now == key),
            ):
                for _ in range(60):
                    if same(self.window.js(here)):
                        break
                    self.window.key(arrow)
            if self.window.js(here) == key:
                return
            self.rest()
        raise AssertionError(f"the arrow keys do not reach {key}")

    def sew(self, sides: Sides) -> None:
        """Sew two sides together by choosing their edges."""
        both = [sorted(side) for side in sides]
        first, second = both if len(both) == 2 else (both[0], both[0])
        if first == second and len(first) == 1:
            self.edge(first[0])
            self.press(f"twin {first[0]}")
            return
        lead = next(edge for edge in first if edge not in second) if len(first) <= len(second) else first[0]
        self.edge(lead)
        self.edge(second[0])
        for k, side in enumerate((first, second)):
            for edge in side:
                if edge not in (lead, second[0]):
                    self._add(edge, k, lead, second[0])

    def _add(self, edge: str, side: int, first: str, second: str) -> None:
        """Sew a further edge of a row to one across; where the lengths do not tell that it is one row, say so."""
        self.edge(edge)
        self.edge(second if side == 0 else first)
        row = self.window.js(
            f"rowsWith(state, did).find((row) => seamsBetween(state, {json.dumps(first)}, {json.dumps(second)}).some((seam) => seam.id === row.id)) ?? null"
        )
        if row is not None:
            self.press(f"row {self.window.js('did')} {row['id']}")

    def pair_all(self) -> int:
        """Do the whole plan, the likeliest way first; how many acts it took."""
        self.rest()
        while self.acts < MOST:
            sewn, asked = self.seams()
            wrong = [one for sides, one in sewn.items() if sides not in self.truth.seams]
            likely = {sides: one for sides, one in asked.items() if one["likely"] >= 0.5}
            missing = [sides for sides in self.truth.seams if sides not in sewn]
            question = self.window.js("document.getElementById('ask-box').hidden ? null : data.question")
            if wrong:
                self.press(f"part {wrong[0]['id']}")
            elif not missing:
                break
            elif len(likely) > 1 and all(sides in self.truth.seams for sides in likely):
                self.press("yes-all")
            elif question and (answer := self._answer(question)):
                self.press(answer)
            else:
                right = next((one for sides, one in asked.items() if sides in self.truth.seams), None)
                if right is not None:
                    self.press(f"yes {right['id']}")
                else:
                    self.sew(min(missing, key=lambda sides: sorted(map(sorted, sides))))
        asked = self.seams()[1]
        while asked and self.acts < MOST:
            self.press(f"no {next(iter(asked.values()))['id']}")
            asked = self.seams()[1]
        if self.window.js("!document.getElementById('rest-free').hidden"):
            self.press("rest-free")
        return self.acts

    def _answer(self, question: dict) -> str | None:
        for k, mate in enumerate(question["mates"]):
            if frozenset(frozenset(use["edge"] for use in side) for side in mate["sides"]) in self.truth.seams:
                return f"answer {k}"
        return "answer free" if question["edge"] in self.truth.free else None


def edges_on(window) -> dict[str, list[dict]]:
    """The edges of the page by piece, in order, with their ends in the file's axes."""
    return window.js(
        "(() => { const out = {}; for (const key of data.order) { const piece = keyParts(key)[0], e = data.edges[key];"
        "const at = (station) => placeOn(data, key, station); let ends = [at(0), at(e.length)];"
        "(out[piece] ??= []).push({key, from: ends[0], to: ends[1], length: e.length}); }"
        "return out; })()"
    )
