"""The page of a report in a real browser: nothing goes wrong, nothing overlaps, clicks and keys do what they say."""

import base64
import json
import re
import sys
from dataclasses import replace
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from browser import browser, find_axe, find_browser
from pages import CORPUS, DEMO, altered, judged, page

import seamcheck
from seamcheck import amounts
from seamcheck.engine.result import FileResult
from seamcheck.errors import Failure

EXECUTABLE = find_browser()
AXE = find_axe()

pytestmark = pytest.mark.skipif(EXECUTABLE is None, reason="no Chromium is installed to open the page in")


def graded() -> FileResult:
    """A nest in which the same is found in three sizes."""
    nest = judged(DEMO / "ferryhand-nest.dxf", DEMO / "ferryhand-nest.seams.toml")
    backs = [piece for piece in nest.geometry.pieces if piece.name == "back" and piece.size in ("36", "38", "40")]
    (kink,) = [one for one in altered("full-seat").findings if one.check == "edge-blend"]
    found = [replace(kink, size=one.size, at=one.edge("outseam").point(184.0)) for one in backs]
    return replace(nest, findings=tuple(found))


def mixed() -> FileResult:
    """Causes on several pieces, of several severities."""
    files = [altered(name) for name in ("low-seat", "gaping-band", "sway-back")]
    return replace(files[0], findings=tuple(finding for file in files for finding in file.findings))


MADE = {
    "curves": lambda: [altered("prominent-calf")],
    "digitised": lambda: [altered("flat-seat", "-digitised.svg", "ferryhand-digitised")],
    "apparel": lambda: [altered("low-seat", "-apparel.dxf", "ferryhand-nest")],
    "cad": lambda: [altered("gaping-band", "-cad.dxf", "ferryhand-cad")],
    "nest": lambda: [judged(DEMO / "ferryhand-nest.dxf", DEMO / "ferryhand-nest.seams.toml")],
    "bare": lambda: [judged(CORPUS / "stage-bodice-set-in-sleeve-bare.svg")],
    "mixed": lambda: [mixed()],
    "graded": lambda: [graded()],
    "several": lambda: [
        altered("prominent-calf"),
        FileResult(path="lost.svg", failures=(Failure("it is empty; save it again", "lost.svg"),)),
    ],
}
PLACES_OF_TEXT = """
(() => {
  const found = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const node = walker.currentNode;
    const inside = node.parentElement;
    if (!node.data.trim() || inside.closest('script,style,title,desc,.unseen,.skip')) continue;
    if (!inside.checkVisibility({visibilityProperty: true})) continue;
    const drawn = inside.closest('svg');
    if (inside.closest('text')?.hasAttribute('transform')) continue; // the box of a turned text is wider than its words
    const range = document.createRange();
    range.selectNodeContents(node);
    for (const r of range.getClientRects())
      if (r.width > 1 && r.height > 1)
        found.push([r.left + scrollX, r.top + scrollY, r.right + scrollX, r.bottom + scrollY, node.data.trim().slice(0, 40), !!drawn]);
  }
  return found;
})()
"""


@pytest.fixture(scope="module")
def window():
    with browser(EXECUTABLE) as opened:
        yield opened


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    folder = tmp_path_factory.mktemp("pages")

    def write(kind: str) -> Path:
        path = folder / f"{kind}.html"
        if not path.exists():
            path.write_text(page(*MADE[kind]()), encoding="utf-8")
        return path

    return write


@pytest.fixture
def desk(window, written):
    """The page as a person opens it for the first time."""

    def open_page(kind: str = "curves", width: int = 1400, scheme: str = "light"):
        window.call("Emulation.setDeviceMetricsOverride", width=width, height=1000, deviceScaleFactor=1, mobile=False)
        features = [
            {"name": "prefers-color-scheme", "value": scheme},
            {"name": "prefers-reduced-motion", "value": "reduce"},
        ]
        window.call("Emulation.setEmulatedMedia", media="", features=features)
        window.open(written(kind))
        window.js("localStorage.clear()")
        window.open(written(kind))
        return window

    yield open_page
    window.call("Emulation.clearDeviceMetricsOverride")
    assert window.errors == []
    assert [url for url in window.requests if not url.startswith("file:")] == []


@pytest.mark.parametrize(("kind", "width"), [*((kind, 1400) for kind in MADE), ("cad", 380), ("several", 380)])
def test_no_words_lie_over_others_and_nothing_is_wider_than_the_page(desk, kind, width):
    window = desk(kind, width)
    window.js("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    assert window.js("document.documentElement.scrollWidth <= innerWidth"), "the page itself scrolls sideways"
    over = list(_overlaps(window.js(PLACES_OF_TEXT)))
    assert over == []


def _overlaps(places):
    """Texts that lie over one another by more than the room round their letters."""
    places = sorted(places, key=lambda one: one[1])
    for k, (x0, y0, x1, y1, told, drawn) in enumerate(places):
        for a0, b0, a1, b1, other, other_drawn in places[k + 1 :]:
            if b0 >= y1:
                break
            wide, high = min(x1, a1) - max(x0, a0), min(y1, b1) - max(y0, b0)
            # Boxes of letters are higher than the letters.
            if drawn == other_drawn and wide > 1.5 and high > (0.35 if drawn else 0.2) * min(y1 - y0, b1 - b0):
                yield f"{told!r} and {other!r} by {wide:.1f} by {high:.1f} px"


def test_a_mark_leads_to_its_finding_and_the_finding_to_its_mark(desk):
    window = desk()
    numbers = window.js("[...document.querySelectorAll('svg a[data-finding]')].map((one) => one.dataset.finding)")
    assert sorted(numbers) == ["1", "2", "3"]
    # Behind the page's own listener: what is counted is lit, has the focus and is scrolled to.
    window.js("arrived = 0; addEventListener('hashchange', () => { arrived += 1; })")
    for k, number in enumerate(numbers):
        for step, selector, there in (
            (1, f"svg a[data-finding='{number}'] text", f"file-1-finding-{number}"),
            (2, f"#file-1-finding-{number}-title a", f"file-1-mark-{number}"),
        ):
            window.click(selector)
            window.wait(f"arrived === {2 * k + step}")
            assert window.js("location.hash") == f"#{there}"
            assert window.js("document.activeElement.id") == there
            assert window.js(f"document.getElementById('{there}').classList.contains('lit')")
            window.wait(_in_view(f"#{there}" if step == 2 else f"#{there}-title"))


def _in_view(selector: str) -> str:
    return (
        f"(() => {{ const r = document.querySelector({json.dumps(selector)}).getBoundingClientRect();"
        "return r.top >= 0 && r.bottom <= innerHeight; })()"
    )


# The page scrolls no more: what is clicked next stays under the mouse.
AT_REST = "(() => { const before = window.before; window.before = scrollY; return before === scrollY; })()"


def test_the_graph_leads_to_pieces_and_seams_also_where_they_are_folded_away(desk):
    window = desk()
    for name, target in (("front", "#file-1-piece-0"), ("pocket", "#file-1-piece-6")):
        window.click(f"#file-1-graph a [data-piece='{name}'] text")
        window.wait(f"location.hash === '{target}' && document.querySelector('{target}').checkVisibility()")
        window.wait(_in_view(f"{target}-title"))
        window.wait(AT_REST)
    window.js("document.querySelector('#file-1-graph a[aria-label^=\"seam inseam\"]').focus()")
    window.key("Enter")
    window.wait("location.hash.startsWith('#file-1-seam-') && document.activeElement.localName === 'tr'")
    assert window.js("document.activeElement.querySelector('th').textContent") == "inseam"
    assert window.js("document.activeElement.checkVisibility()")


def test_a_piece_leads_to_what_was_found_on_it(desk):
    window = desk()
    spot = window.js(
        "(() => { const cloth = document.querySelector('#file-1-finding-1 .telling svg a .cloth');"
        "cloth.scrollIntoView({block: 'center'}); const box = cloth.getBBox();"
        "for (let k = 1; k < 20; k++) { const p = new DOMPoint(box.x + box.width * k / 20, box.y + box.height * .62)"
        "  .matrixTransform(cloth.getScreenCTM()); if (document.elementFromPoint(p.x, p.y) === cloth) return [p.x, p.y]; }"
        "return null; })()"
    )
    window.click_at(*spot)
    window.wait("location.hash === '#file-1-piece-1'")
    told = window.js("document.getElementById('file-1-piece-1-found').textContent")
    assert told == "Found on it: finding 1, finding 2, finding 3."


def test_every_mark_and_node_is_reached_by_the_tab_key(desk):
    window = desk()
    wanted = set(
        window.js(
            "[...document.querySelectorAll('svg a')].filter((one) => one.checkVisibility()).map((one, k) => { one.dataset.k = k; return k; })"
        )
    )
    reached: list[str] = []
    window.js("document.activeElement.blur()")
    for _ in range(200):
        window.key("Tab")
        at = window.js(
            "document.activeElement === document.body ? null : document.activeElement.dataset.k ?? document.activeElement.outerHTML.slice(0, 60)"
        )
        if at is None:
            break
        reached.append(at)
    assert 'href="#main"' in reached[0]  # the way past all else comes first
    assert {int(one) for one in reached if one.isdigit()} == wanted


def test_lengths_are_shown_in_the_chosen_unit_and_the_choice_is_remembered(desk):
    window = desk()
    said = "document.querySelector('#file-1-finding-1 .telling p').innerText"
    drawn = "[...document.querySelectorAll('#file-1-finding-1 svg.figure:not(.small) text')].map((one) => [...one.querySelectorAll('tspan')].filter((t) => getComputedStyle(t).display !== 'none').map((t) => t.textContent).join('')).join(' ')"
    assert "6.4 mm (1/4 in) too short" in window.js(said)
    assert "notch 434 mm from" in window.js(said)
    window.click("#units input[value=inch]")
    assert "1/4 in too short" in window.js(said)
    assert "mm" not in window.js(said)
    assert "notch 17 1/16 in from" in window.js(said)
    recipe = "[...document.querySelectorAll('#file-1-finding-1 :is(.do, .or)')].map((one) => one.innerText).join(' ')"
    assert "Lengthen back.outseam by 1/4 in at side-waist" in window.js(recipe)
    assert "60 mm" not in window.js(recipe)
    assert not re.search(r"\dmm|\d mm", window.js(recipe))
    assert "mm" not in window.js(drawn)
    window.reload()
    assert window.js("document.querySelector('#units input:checked').value") == "inch"
    assert "1/4 in too short" in window.js(said)
    window.click("#units input[value=mm]")
    assert "6.4 mm too short" in window.js(said)
    assert " in" not in window.js(drawn)
    window.click("#units input[value=both]")
    assert "6.4 mm (1/4 in) too short" in window.js(said)


def test_without_scripts_all_is_there_and_no_switch_that_does_nothing(desk, written):
    text, scripts = re.subn(r"<script>.*?</script>", "", page(*MADE["curves"]()), flags=re.DOTALL)
    assert scripts == 1
    written("curves").with_name("plain.html").write_text(text, encoding="utf-8")
    window = desk("plain")
    assert window.js("document.getElementById('units').checkVisibility()") is False
    assert "6.4 mm (1/4 in) too short" in window.js("document.body.innerText")
    window.click("svg a[data-finding='2'] text")
    window.wait("document.querySelector(':target')?.id === 'file-1-finding-2'")
    assert window.js("getComputedStyle(document.querySelector('.units-alone')).display") == "none"


@pytest.mark.parametrize("kind", ["curves", "nest", "several"])
def test_it_can_be_printed(desk, kind):
    window = desk(kind)
    made = base64.b64decode(window.call("Page.printToPDF", preferCSSPageSize=True)["data"])
    assert made.startswith(b"%PDF")
    assert 1 <= made.count(b"/Type /Page\n") <= 30


@pytest.mark.parametrize("kind", ["curves", "cad", "apparel"])
@pytest.mark.parametrize("media", ["screen", "print"])
def test_a_piece_is_drawn_large_once(desk, kind, media):
    window = desk(kind)
    window.js("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    window.call("Emulation.setEmulatedMedia", media=media)
    drawn = window.js(
        "[...document.querySelectorAll('figure.piece')].filter((one) => one.checkVisibility()).map("
        "(one) => one.querySelector('figcaption b').textContent)"
    )
    window.call("Emulation.setEmulatedMedia", media="screen")
    assert drawn
    assert len(drawn) == len(set(drawn))
    assert len(drawn) == window.js("document.querySelectorAll('section.piece').length")


def test_the_first_screen_shows_the_piece_with_the_stretch(desk):
    window = desk("curves")
    for selector in ("#file-1-causes", "#file-1-finding-1-title", ".telling .stretch"):
        window.wait(_in_view(selector))
    assert window.js("document.getElementById('file-1-finding-1-title').innerText").endswith(
        "Error: back.outseam, 6.4 mm (1/4 in), differs at side-hem"
    )


def test_what_is_ticked_off_is_remembered_and_told_in_the_table(desk):
    window = desk()
    told = "document.querySelector('#file-1-causes th .tally').textContent"
    boxes = window.js("document.querySelectorAll('#file-1-finding-1 [data-done]').length")
    assert boxes == 3
    window.click("#file-1-finding-1 li:nth-child(2) [data-done]")
    assert window.js(told) == "1 of 3 done"
    window.reload()
    assert window.js("[...document.querySelectorAll('[data-done]')].map((one) => one.checked)") == [
        False,
        True,
        False,
    ]
    window.js("document.querySelector('#file-1-finding-1 li:nth-child(1) [data-done]').focus()")
    window.key(" ")
    window.click("#file-1-finding-1 li:nth-child(3) label")
    assert window.js(told) == "done"
    window.click("#file-1-finding-1 li:nth-child(3) label")
    assert window.js(told) == "2 of 3 done"


def test_the_outline_of_a_chosen_size_is_laid_on_the_piece(desk):
    window = desk("graded")
    shown = "[...document.querySelectorAll('.chosen-size')].filter((one) => one.checkVisibility()).map((one) => one.dataset.size)"
    drawn = window.js("document.querySelector('.telling figure.piece figcaption b').textContent")
    sizes = window.js("[...document.querySelectorAll('.sieve [name=sizes] option')].map((one) => one.value)")
    assert sizes == ["", "36", "38", "40", "42", "44"]
    assert window.js(shown) == []
    window.js("document.querySelectorAll('details').forEach((one) => { one.open = false; })")
    causes = "[...document.querySelectorAll('article.finding')].filter((one) => one.checkVisibility()).length"
    for size in sizes[1:]:
        window.js(
            f"(() => {{ const one = document.querySelector('.sieve [name=sizes]'); one.value = '{size}';"
            "one.dispatchEvent(new Event('change', {bubbles: true})); })()"
        )
        assert set(window.js(shown)) == (set() if f"size {size}" in drawn else {size})
        assert window.js(causes) == 1
        told = window.js("document.querySelector('.sieve output').textContent")
        assert told == (
            f"nothing to put right in size {size}, which is dashed on the pieces" if size in ("42", "44") else ""
        )


def test_a_clean_nest_shows_each_size_on_its_pieces(desk):
    window = desk("nest")
    window.js("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    sizes = window.js("[...document.querySelectorAll('.sieve [name=sizes] option')].map((one) => one.value)")
    assert sizes == ["", "36", "38", "40", "42", "44"]
    window.js(
        "(() => { const one = document.querySelector('.sieve [name=sizes]'); one.value = '44';"
        "one.dispatchEvent(new Event('change', {bubbles: true})); })()"
    )
    shown = "[...document.querySelectorAll('.chosen-size')].filter((one) => one.checkVisibility()).map((one) => one.dataset.size)"
    assert window.js(shown) == ["44"] * 7


def test_a_slider_walks_both_sides_of_a_seam(desk):
    window = desk()
    told = "document.querySelector('.walker output').innerText"
    assert window.js(told) == ""
    window.js("document.querySelector('.walker input').focus()")
    window.key("End")
    assert window.js(told) == (
        "front.outseam 1017 mm (40 in), back.outseam 1010 mm (39 3/4 in): front.outseam is 6.4 mm (1/4 in) longer so far"
    )
    assert window.js("document.querySelector('.walker input').getAttribute('aria-valuetext')") == window.js(told)
    # On the piece the dot has come to the corner that the seam ends at, the lowest of the outseam.
    ends = window.js(
        "(() => { const svg = document.querySelector('.telling figure.piece svg'), dot = svg.querySelector('.walking.on');"
        "const edge = svg.querySelector('[data-use=\"back.outseam\"]'), end = edge.getPointAtLength(edge.getTotalLength());"
        "return [dot.cx.baseVal.value, dot.cy.baseVal.value, end.x, end.y]; })()"
    )
    assert ends[:2] == pytest.approx(ends[2:], abs=0.05)
    window.key("Home")
    assert window.js(told) == ""
    assert window.js("document.querySelectorAll('.walking.on').length") == 0


@pytest.mark.parametrize("mm", [0.3, 0.8, 1.6, 2.4, 6.35, 12.7, 99.97, 433.65, 1043.21])
def test_a_slider_tells_an_amount_as_the_report_does(desk, mm):
    window = desk()
    script = (Path(seamcheck.__file__).parent / "report" / "html" / "page.js").read_text(encoding="utf-8")
    begin, end = script.index("const millimetres"), script.index("const amount")
    told = window.js(f"(() => {{ {script[begin:end]} return [millimetres({mm}), inches({mm})]; }})()")
    assert told == [amounts.millimetres(mm), amounts.inches(mm)]


def test_causes_can_be_chosen_by_piece_and_by_how_grave_they_are(desk):
    window = desk("mixed")
    shown = "[...document.querySelectorAll('article.finding')].filter((one) => one.checkVisibility()).length"
    rows = "[...document.querySelectorAll('#file-1-causes tbody tr')].filter((one) => one.checkVisibility()).length"
    every = window.js(shown)
    assert every > 1
    choose = (
        "(() => { const one = document.querySelector('.sieve select[name=%s]'); one.value = %s;"
        "one.dispatchEvent(new Event('change', {bubbles: true})); })()"
    )
    names = window.js("[...document.querySelectorAll('.sieve select')].map((one) => one.name)")
    assert names
    for name in names:
        values = window.js(f"[...document.querySelectorAll('.sieve [name={name}] option')].map((one) => one.value)")
        assert values[0] == ""
        for value in values[1:]:
            window.js(choose % (name, json.dumps(value)))
            assert 1 <= window.js(shown) == window.js(rows) <= every
            if window.js(shown) < every:
                assert window.js("document.querySelector('.sieve output').textContent") == (
                    f"{window.js(shown)} of {every} shown"
                )
        window.js(choose % (name, '""'))
        assert window.js(shown) == every


def test_rings_tell_severities_apart_without_their_colour(desk):
    window = desk("curves")
    rings = window.js(
        "['error', 'warning', 'note'].map((grade) => [...document.querySelectorAll(`.mark.grade-${grade} .ring`)].map("
        "(one) => { const looks = getComputedStyle(one); return `${looks.strokeWidth} ${looks.strokeDasharray}`; }))"
    )
    looks = [set(each) for each in rings]
    assert all(len(each) == 1 for each in looks)
    assert len(set.union(*looks)) == 3
    borders = window.js(
        "['error', 'warning', 'note'].map((grade) => getComputedStyle(document.querySelector(`span.ring.${grade}`)).borderStyle)"
    )
    assert borders == ["solid", "dashed", "dotted"]


@pytest.mark.parametrize("kind", ["curves", "cad"])
def test_seams_fit_a_page_as_narrow_as_a_hand(desk, kind):
    window = desk(kind, 380)
    seams = (
        "[...document.querySelectorAll('figure.seam')].filter((one) => one.checkVisibility()).map((one) => {"
        " const scroller = one.querySelector('.scroller'), shown = [...one.querySelectorAll('svg')].filter("
        "(svg) => svg.checkVisibility());"
        " const height = Math.min(...[...shown[0].querySelectorAll('text')].map("
        "(text) => parseFloat(text.getAttribute('font-size')) * shown[0].getScreenCTM().a));"
        " return [scroller.scrollWidth <= scroller.clientWidth, shown.length, height]; })"
    )
    narrow = window.js(seams)
    assert narrow
    for fits, shown, height in narrow:
        assert (fits, shown) == (True, 1)
        assert height >= 9.0  # px
    wide = desk(kind, 1400).js(seams)
    assert [shown for _, shown, _ in wide] == [1] * len(narrow)


@pytest.mark.parametrize("kind", MADE)
def test_nothing_on_a_page_as_narrow_as_a_hand_scrolls_sideways(desk, kind):
    window = desk(kind, 380)
    window.js("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    wide = window.js(
        "[...document.querySelectorAll('*')].filter((one) => one.scrollWidth > one.clientWidth + 1"
        " && (one === document.documentElement || ['auto', 'scroll'].includes(getComputedStyle(one).overflowX)))"
        ".map((one) => [one.localName, one.textContent.trim().slice(0, 40), one.scrollWidth, one.clientWidth])"
    )
    assert wide == []
    # Every cell of a table whose heads are not shown says what it is; the list of causes speaks for itself.
    bare = window.js(
        "[...document.querySelectorAll('.scroller table:not(.causes) td')].filter((one) => one.checkVisibility() && one.parentElement.children.length > 2"
        " && getComputedStyle(one, '::before').content === 'none').map((one) => one.textContent)"
    )
    assert bare == []
    shown = window.js(
        "[...document.querySelectorAll('.scroller')].filter((one) => one.querySelector('svg')).map((one) =>"
        " [...one.querySelectorAll(':scope > svg')].filter((svg) => svg.checkVisibility()).length)"
    )
    assert set(shown) <= {1}


@pytest.mark.skipif(AXE is None, reason="no axe-core is there to look for barriers with")
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(
    ("kind", "width"),
    [("curves", 1400), ("bare", 1400), ("graded", 1400), ("graded", 380), ("several", 1400), ("several", 380)],
)
def test_nobody_is_shut_out(desk, kind, scheme, width):
    window = desk(kind, width, scheme)
    window.js("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    assert window.barriers(AXE) == []


@pytest.mark.skipif(AXE is None, reason="no axe-core is there to look for barriers with")
def test_what_shuts_people_out_is_found(desk):
    """The look-out itself: letters as pale as the paper and a picture without a name are found."""
    window = desk("bare")
    window.js(
        "document.querySelector('h1').style.color = '#eee'; document.body.appendChild(document.createElement('img')).src = 'data:,'"
    )
    found = " ".join(window.barriers(AXE))
    assert "contrast" in found
    assert "alternate text" in found or "alternative text" in found
    window.errors.clear()
