"""The page to confirm seams by, used in a real browser with mouse and keys.

What the page says the plan is, is read here by the program's own reader of plans.
"""

import json
import sys
from dataclasses import replace
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from browser import browser, find_axe, find_browser
from pairing_desk import Desk
from proposing import BAD, CORPUS, DEMO_TEXT, asking, corpus, demo, hostile, proposed

from seamcheck.config.plan_file import parse_plan
from seamcheck.pairing.proposal import Proposal
from seamcheck.pattern.plan import EdgeUse, SeamPlan
from seamcheck.report.table.page import pairing_page

EXECUTABLE = find_browser()
AXE = find_axe()


needs_browser = pytest.mark.skipif(EXECUTABLE is None, reason="no Chromium is installed to open the page in")


@pytest.fixture(scope="module")
def window():
    with browser(EXECUTABLE) as opened:
        yield opened


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """Write each page once; the demo with two questions unless something else is asked for."""
    folder = tmp_path_factory.mktemp("pages")
    there: dict[str, Path] = {}

    def make(name: str = "demo", proposal: Proposal | None = None, text: str | None = None) -> Path:
        if name not in there:
            if name == "demo":
                asked = ("waist-back", "facing-side")
                proposal, text = demo(*asked), asking(DEMO_TEXT, *asked)
            there[name] = folder / f"{name}.html"
            there[name].write_text(pairing_page(proposal, text), encoding="utf-8")
        return there[name]

    return make


@pytest.fixture
def desk(window, made):
    yield Desk(window, made())
    assert window.errors == []
    assert [url for url in window.requests if not url.startswith(("file:", "blob:"))] == []


@needs_browser
def test_the_page_opens_with_the_plan_as_it_was_given(desk):
    plan, true = desk.plan(), parse_plan(DEMO_TEXT)
    assert (plan.pieces, plan.darts) == (true.pieces, true.darts)
    assert plan.seams == tuple(seam for seam in true.seams if seam.name not in ("waist-back", "facing-side"))
    kept = [line for line in DEMO_TEXT.splitlines() if "#" in line]
    assert len(kept) > 5
    assert set(kept) <= set(desk.text().splitlines())


@needs_browser
def test_two_clicks_sew_and_never_part_which_is_asked_for_in_words(desk):
    desk.edge("front.inseam")
    desk.edge("back.inseam")
    assert "are sewn already: seam 2, inseam" in desk.said()
    assert "inseam" in desk.names()
    desk.button("Part this seam")
    assert desk.said() == "Seam 2, inseam, is parted."
    assert "inseam" not in desk.names()
    assert "front.inseam" in desk.window.js("document.getElementById('open-edges').textContent")
    desk.edge("front.inseam")
    desk.edge("back.inseam")
    assert desk.sewn("inseam") == (["front.inseam"], ["back.inseam"])
    assert desk.window.js("document.querySelectorAll('#marks [data-on=\"back.inseam\"]').length") >= 1


@needs_browser
def test_a_new_pair_is_walked_from_ends_that_meet(desk):
    # The pocket's mouth and the back hem share no corner name and no seam; both run clockwise, so one is turned.
    desk.edge("pocket.opening")
    desk.edge("back.hem")
    assert desk.sewn("opening to hem") == (["pocket.opening"], ["-back.hem"])
    assert "no longer stays free" in desk.said()
    assert desk.plan().piece("back").unsewn == ()
    assert desk.chosen() == []  # nothing stays chosen by accident
    desk.button("Change it")
    desk.button("Turn: back.hem")
    assert desk.sewn("opening to hem") == (["pocket.opening"], ["back.hem"])
    ends = desk.window.js("document.querySelector('.ends').textContent")
    assert ends == "A: pocket.top-left meets back.side-hem. B: pocket.top-right meets back.inseam-hem."
    assert desk.window.js("[...document.querySelectorAll('.end-name')].map((e) => e.textContent).join('')") == "ABAB"


@needs_browser
def test_ease_is_a_number_or_a_range_and_ratio_takes_its_place(desk):
    desk.choose_seam(1, "outseam")
    desk.allow("ease", 1, least="6")
    assert desk.seam("outseam").ease == (6.0, 6.0)
    desk.allow("ease", 1, least="-1,5", most="6")
    assert desk.seam("outseam").ease == (-1.5, 6.0)
    desk.allow("ease", 1, least="lots")
    assert desk.said() == '"lots" is no number; write one such as 6.'
    assert desk.seam("outseam").ease == (-1.5, 6.0)
    desk.allow("ease", 1, least="7", most="6")
    assert "smaller number first" in desk.said()
    assert desk.seam("outseam").ease == (7.0, 7.0)
    desk.allow("ratio", 1, least="0.98", most="1.02")
    assert (desk.seam("outseam").ease, desk.seam("outseam").ratio) == (None, (0.98, 1.02))
    desk.window.click("input[name='kind-1'][value=none]")
    assert desk.seam("outseam") == SeamPlan(
        name="outseam", sides=((EdgeUse("front", "outseam"),), (EdgeUse("back", "outseam"),))
    )


@needs_browser
def test_edges_that_are_told_to_stay_free_one_after_the_other_are_not_sewn_together(desk):
    desk.edge("front.outseam")
    desk.button("Part seam 1, outseam")
    for edge in ("front.outseam", "back.outseam"):
        desk.edge(edge)
        desk.button("Stays free")
    assert "outseam" not in desk.names()
    for piece in ("front", "back"):
        assert "outseam" in desk.plan().piece(piece).unsewn
    desk.edge("front.outseam")  # and they can be sewn after all
    desk.edge("back.outseam")
    assert len([seam for seam in desk.plan().seams if "front.outseam" in map(str, seam.sides[0])]) == 1


@needs_browser
def test_an_edge_stays_unsewn_or_is_the_fold_but_not_while_it_is_sewn(desk):
    desk.edge("facing-front.upper")
    desk.button("Stays free")
    assert desk.said() == "facing-front.upper is in seam 8, band-upper-front. Part it first."
    desk.button("Part seam 8, band-upper-front")
    desk.edge("facing-front.upper")
    desk.button("Stays free")
    assert desk.plan().piece("facing-front").unsewn == ("cf", "lower", "upper")
    desk.button("Stays free")
    assert desk.plan().piece("facing-front").unsewn == ("cf", "lower")
    desk.button("Lies on the fold")
    assert (desk.plan().piece("facing-front").fold, desk.plan().piece("facing-front").cut) == ("upper", "pair")
    desk.button("Let go")
    desk.edge("band-back.fold")
    desk.button("Lies on the fold")
    assert (desk.plan().piece("band-back").fold, desk.plan().piece("band-back").cut) == (None, "one")
    desk.button("Lies on the fold")
    assert desk.text().replace('fold = "upper"\n', "").count("fold = ") == DEMO_TEXT.count("fold = ")


@needs_browser
def test_a_question_is_confirmed_or_dropped(desk):
    assert '# name = "waist-back"' in desk.text()
    assert "no mate" in desk.window.js("document.getElementById('questions').textContent")
    desk.button("Yes, waist-back is a seam")
    assert desk.sewn("waist-back") == (["back.waist"], ["band-back.lower"])
    assert '# name = "waist-back"' not in desk.text()
    desk.edge("facing-front.side")
    desk.edge("facing-back.side")
    assert desk.said() == "Yes: facing-side is seam 10."
    desk.button("Undo")
    desk.button("No, drop facing-side")
    assert "facing-side" not in desk.text()
    assert desk.window.js("document.getElementById('no-questions').hidden") is False


@needs_browser
def test_a_side_of_several_edges_in_a_row(desk):
    desk.choose_seam(5, "waist-front")
    desk.window.js("document.querySelector('[data-focus=\"add 5 0\"]').setAttribute('id', 'add')")
    desk.window.click("#add")
    desk.edge("back.waist")
    # The outseam brings the two side-waist corners together: the row goes on from there.
    assert desk.sewn("waist-front")[0] == ["front.waist", "-back.waist"]
    desk.button("Turn: back.waist")
    desk.button("Earlier: back.waist")
    assert desk.sewn("waist-front") == (["back.waist", "front.waist"], ["band-front.lower"])
    desk.button("Earlier: back.waist")
    assert desk.said() == "back.waist is the first of its side already."
    desk.window.js("document.querySelector('[data-focus=\"turn-all 5 0\"]').setAttribute('id', 'turn')")
    desk.window.click("#turn")
    assert desk.sewn("waist-front")[0] == ["-front.waist", "-back.waist"]
    # Two clicks on edges of such a seam do not tear it apart.
    desk.button("Done")
    assert desk.chosen() == []
    desk.edge("back.waist")
    desk.edge("band-front.lower")
    assert "together with other edges" in desk.said()
    desk.button("Take out: front.waist")
    assert desk.sewn("waist-front")[0] == ["-back.waist"]


@needs_browser
def test_what_was_sewn_as_a_further_layer_is_made_one_row_instead(desk):
    desk.edge("pocket.opening")
    desk.edge("back.hem")
    desk.edge("front.hem")
    desk.edge("back.hem")
    assert (
        len([seam for seam in desk.plan().seams if "back.hem" in [use.name for side in seam.sides for use in side]])
        == 2
    )
    desk.button("One row with seam 11, opening to hem")
    first, second = desk.sewn("opening to hem")
    assert [edge.lstrip("-") for edge in first] == ["pocket.opening", "front.hem"]
    assert second == ["-back.hem"]


@needs_browser
def test_of_several_layers_the_one_is_chosen_that_it_is_one_row_with(desk):
    for edge in ("pocket.opening", "front.hem", "facing-front.lower"):
        desk.edge(edge)
        desk.edge("back.hem")
    rows = desk.window.js(
        "[...document.querySelectorAll('#chosen button')].map((one) => one.textContent).filter((text) => text.startsWith('One row'))"
    )
    assert rows == ["One row with seam 11, opening to hem", "One row with seam 12, hem"]
    desk.button(rows[1])
    assert [edge.lstrip("-") for edge in desk.sewn("hem")[0]] == ["front.hem", "facing-front.lower"]
    assert desk.sewn("opening to hem") == (["pocket.opening"], ["-back.hem"])


@needs_browser
def test_an_edge_is_sewn_to_its_own_mirror_twin(desk):
    desk.edge("back.crotch")
    desk.button("Part seam 4, crotch-back")
    desk.edge("back.crotch")
    desk.button("Sew to its mirror twin")
    assert desk.sewn("crotch") == (["back.crotch"], ["back.crotch"])


@needs_browser
def test_a_seam_gets_a_name_of_its_own(desk):
    desk.choose_seam(1, "outseam")
    desk.write("#name-1", 'the "long" one')
    assert 'the "long" one' in desk.names()
    desk.write("#name-1", "inseam", "Enter")
    assert "already" in desk.said()
    desk.write("#name-1", "  ", "Enter")
    assert desk.said() == "A seam needs a name."
    assert 'the "long" one' in desk.names()
    desk.button("Undo")
    assert desk.plan().seams[0].name == "outseam"
    desk.button("Redo")
    assert desk.plan().seams[0].name == 'the "long" one'


@needs_browser
def test_what_else_a_plan_says_of_a_seam_stays_when_the_seam_is_changed(window, made):
    plain = '[[seams]]\nname = "outseam"\nsew = ["front.outseam", "back.outseam"]\n'
    more = plain + 'ease = [0, 6]\nease-between = [85, 400]\ntolerance = 3.0  # wool\nmaster = "first"\n'
    text = DEMO_TEXT.replace(plain, more)
    plan = parse_plan(text)
    desk = Desk(window, made("more", proposed(demo().pattern, plan), text))
    assert desk.text() == text
    desk.choose_seam(1, "outseam")
    desk.write("#name-1", "long seam")
    assert desk.seam("long seam") == replace(plan.seams[0], name="long seam")
    desk.window.click("input[name='kind-1'][value=none]")
    assert desk.seam("long seam") == replace(plan.seams[0], name="long seam", ease=None, ease_between=None)
    assert window.errors == []


@needs_browser
def test_a_button_that_is_clicked_straight_after_typing_is_not_lost(desk):
    desk.choose_seam(1, "outseam")
    desk.window.click("input[name='kind-1'][value=ease]")
    desk.window.click("#from-1")
    desk.window.type("4")
    desk.choose_seam(2, "inseam")
    assert desk.seam("outseam").ease == (4.0, 4.0)
    assert desk.window.js("document.querySelector('#chosen input').value") == "inseam"


@needs_browser
def test_the_plan_is_saved_kept_and_opened_again(desk, tmp_path):
    untouched = desk.text()
    desk.button("Part seam 2, inseam")
    desk.button("Yes, waist-back is a seam")
    desk.choose_seam(1, "outseam")
    desk.allow("ease", 1, least="2", most="3")
    text = desk.text()
    desk.button("Save the plan")
    assert desk.window.downloaded("ferryhand.seams.toml") == text
    assert set(parse_plan(text).seams) == set(desk.plan().seams)
    desk.window.reload()
    assert desk.text() == text
    assert "last changes" in desk.said()
    desk.button("Start over")
    assert desk.text() == untouched
    saved = tmp_path / "mine.seams.toml"
    saved.write_text("# by hand\n" + text, encoding="utf-8")
    desk.window.choose_file("#open", saved)
    desk.window.wait("document.getElementById('said').textContent.startsWith('The plan is opened')")
    assert desk.text() == "# by hand\n" + text
    assert desk.seam("outseam").ease == (2.0, 3.0)
    desk.button("Undo")
    assert desk.text() == untouched
    for wrong, why in (("format = 1\nname = ", "no seam plan"), ("format = 1\n", "cannot be changed here")):
        saved.write_text(wrong, encoding="utf-8")
        desk.window.choose_file("#open", saved)
        desk.window.wait(f"document.getElementById('said').textContent.includes({json.dumps(why)})")
    saved.write_text(text.replace("outseam = [", "long-side = [").replace(".outseam", ".long-side"), encoding="utf-8")
    desk.window.choose_file("#open", saved)
    desk.window.wait("document.getElementById('said').textContent.includes('does not name the edge')")
    assert desk.text() == untouched


@needs_browser
def test_the_plan_is_copied(desk):
    desk.window.call("Browser.grantPermissions", permissions=["clipboardReadWrite", "clipboardSanitizedWrite"])
    desk.button("Copy the plan")
    desk.window.wait("document.getElementById('said').textContent === 'The plan is copied.'")
    assert desk.window.js("navigator.clipboard.readText()") == desk.text()


@needs_browser
def test_where_nothing_may_be_copied_the_text_is_there_to_be_selected(desk):
    refuse = "navigator.clipboard.writeText = () => Promise.reject(new Error()); document.execCommand = () => false"
    desk.window.js(refuse)
    desk.button("Copy the plan")
    desk.window.wait("document.getElementById('said').textContent.includes('copy it by hand')")
    assert desk.window.js("document.activeElement.id") == "plan"


@needs_browser
def test_keys_alone_do_everything(desk):
    window = desk.window
    for _ in range(30):
        window.key("Tab")
        if window.js("document.activeElement.dataset.edge ?? ''"):
            break
    first = window.js("document.activeElement.dataset.edge")
    window.key("ArrowDown")
    assert window.js("document.activeElement.dataset.edge").split(".")[0] != first.split(".")[0]
    window.key("ArrowUp")
    assert window.js("document.activeElement.dataset.edge").split(".")[0] == first.split(".")[0]

    def go(key):
        for _ in range(8):
            if window.js("document.activeElement.dataset.edge").split(".")[0] == key.split(".")[0]:
                break
            window.key("ArrowDown")
        for _ in range(12):
            if window.js("document.activeElement.dataset.edge") == key:
                return
            window.key("ArrowRight")
        raise AssertionError(f"the arrow keys do not reach {key}")

    go("front.inseam")
    window.key("Enter")
    assert window.js("document.activeElement.getAttribute('aria-selected')") == "true"
    assert "in seam 2, inseam" in window.js("document.activeElement.getAttribute('aria-label')")
    go("back.inseam")
    window.key(" ")
    assert "inseam" in desk.names()

    def tab_to(expression):
        for _ in range(120):
            if window.js(expression):
                return
            window.key("Tab")
        raise AssertionError(f"the Tab key does not reach {expression}")

    tab_to("document.activeElement.dataset.focus === 'part-form 2'")
    window.key("Enter")
    assert "inseam" not in desk.names()
    assert window.js("document.activeElement !== document.body")
    window.key("z", control=True)
    assert "inseam" in desk.names()
    window.js("document.querySelector('[tabindex=\"0\"][data-edge]').focus()")
    go("front.hem")
    window.key("Enter")
    window.key("Escape")
    assert desk.said() == "Nothing is chosen."

    tab_to("document.activeElement.dataset.focus === 'yes 6'")
    window.key("Enter")
    assert "waist-back" in desk.names()
    assert window.js("document.activeElement !== document.body")
    tab_to("document.activeElement.dataset.focus === 'seam 1'")
    window.key("Enter")
    window.key("Tab", shift=True)
    for _ in range(60):
        if window.js("document.activeElement.id === 'name-1'"):
            break
        window.key("Tab", shift=True)
    tab_to("document.activeElement.type === 'radio'")
    window.key("ArrowRight")
    assert window.js("document.activeElement.id") == "from-1"
    window.type("3")
    window.key("Tab")
    window.type("5")
    window.key("Tab")
    assert desk.seam("outseam").ease == (3.0, 5.0)


@needs_browser
def test_where_the_browser_keeps_nothing_the_page_says_so_and_works(window, made):
    refuse = (
        "Object.defineProperty(window, 'localStorage', {get() { throw new DOMException('no', 'SecurityError'); }})"
    )
    with window.before_every_page(refuse):
        window.open(made())
        desk = Desk.__new__(Desk)
        desk.window = window
        assert "Save the plan" in window.js("document.getElementById('kept').textContent")
        desk.edge("front.inseam")
        desk.edge("back.inseam")
        desk.button("Part this seam")
        assert "inseam" not in desk.names()
        assert window.errors == []


@needs_browser
def test_names_out_of_a_file_stay_text(window, made):
    proposal = hostile()
    desk = Desk(window, made("hostile", proposal))
    assert window.js("typeof boom") == "undefined"
    assert window.js("document.querySelectorAll('img').length") == 0
    sure = tuple(seam for seam in proposal.plan.seams if not seam.name.startswith("waist-back"))
    assert desk.plan() == replace(proposal.plan, seams=sure)
    desk.button(f"Yes, waist-back {BAD[0]} is a seam")
    assert set(desk.plan().seams) == set(proposal.plan.seams)
    assert window.js("document.querySelector('h1').textContent").startswith("Kit room </title><script>")
    assert window.errors == []
    assert "\x07" not in made("hostile").read_text(encoding="utf-8")


@needs_browser
@pytest.mark.parametrize(
    "name",
    ["regatta-six-gore-skirt", "sculler-round-kit-bag", "portage-roll-top-bag", "oarsman-singlet", "foredeck-hood"],
)
def test_every_seam_of_other_patterns_is_there_and_comes_back_from_the_page(name, window, made):
    true = parse_plan((CORPUS / f"{name}.seams.toml").read_text(encoding="utf-8"))
    proposal = corpus(name, true.seams[-1].name)
    desk = Desk(window, made(name, proposal))  # without a text: it is written from the proposal
    assert (desk.plan().pieces, desk.plan().seams) == (true.pieces, true.seams[:-1])
    desk.button(f"Yes, {true.seams[-1].name} is a seam")
    assert desk.plan().seams == true.seams
    shown = window.js("[...document.querySelectorAll('#marks [data-on]')].map((e) => [e.dataset.seam, e.dataset.on])")
    for number, seam in enumerate(true.seams, 1):
        for use in (*seam.sides[0], *seam.sides[1]):
            assert [str(number), f"{use.piece}.{use.edge}"] in shown
    assert window.errors == []


@needs_browser
def test_ease_is_in_the_units_of_the_plan(window, made):
    proposal = demo()
    desk = Desk(window, made("inches", replace(proposal, plan=replace(proposal.plan, units="in"))))
    assert "ease in in" not in window.js("document.body.textContent")
    desk.choose_seam(1, "outseam")
    desk.allow("ease", 1, least="0.25", most=".5")
    assert desk.plan().units == "in"
    assert desk.seam("outseam").ease == pytest.approx((6.35, 12.7))
    assert window.errors == []


WANDER = """
(() => {
  let seed = 7;
  const pick = (list) => { seed = (seed * 48271) % 2147483647; return list[seed % list.length]; };
  const keys = Object.keys(data.edges), told = [];
  for (let step = 0; step < 120; step += 1) {
    const seam = pick(state.seams) ?? { id: 0, sides: [[], []] }, side = pick([0, 1]), at = pick([0, 1, 2]) % seam.sides[side].length;
    const numbers = ["0", "-3.5", "12", "0.07", "1e9", "x"];
    apply(pick([
      () => joined(data, state, pick(keys), pick(keys)),
      () => joined(data, state, pick(keys), pick(keys)),
      () => parted(state, seam.id),
      () => confirmed(state, seam.id),
      () => added(data, state, seam.id, side, pick(keys)),
      () => rearranged(state, seam.id, side, at, pick(["turn", "turn-all", "earlier", "later", "remove"])),
      () => renamed(state, seam.id, pick(["plain", "two words", 'quo"ted', "back\\\\slash # [x]", "  ", "outseam"])),
      () => allowed(state, seam.id, pick(["none", "ease", "ratio"]), pick(numbers), pick([...numbers, ""]), data.units),
      () => marked(state, pick(keys), pick(["unsewn", "fold"])),
    ]));
    if (step % 9 === 0) travel(past, future, "undo");
    if (step % 12 === 0 && future.length) travel(future, past, "do again");
    if (step % 5 === 0) told.push([$("plan").value, state.seams, state.pieces]);
  }
  return told;
})()
"""


@needs_browser
def test_whatever_is_done_the_text_says_what_the_page_knows(desk):
    shown = desk.window.js(WANDER)
    assert len(shown) == 24
    assert len({text for text, _, _ in shown}) > 15
    for text, seams, pieces in shown:
        plan = parse_plan(text)
        there = {
            seam.name: ([[str(use) for use in side] for side in seam.sides], seam.ease, seam.ratio)
            for seam in plan.seams
        }
        known = {
            seam["name"]: (
                [[("-" if use["back"] else "") + use["edge"] for use in side] for side in seam["sides"]],
                tuple(seam["ease"]) if seam["ease"] else None,
                tuple(seam["ratio"]) if seam["ratio"] else None,
            )
            for seam in seams
            if not seam["asked"]
        }
        assert there == known
        asked = [seam["name"] for seam in seams if seam["asked"]]
        assert [name for name in asked if f"# name = {json.dumps(name)}" not in text] == []
        for piece in plan.pieces:
            said = pieces[piece.name]
            assert (list(piece.unsewn), piece.fold, piece.cut) == (said["unsewn"], said["fold"], said["cut"])
    assert "# the fly opening" in shown[-1][0]


@needs_browser
@pytest.mark.skipif(AXE is None, reason="no axe-core is there to look for barriers with")
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [1400, 380])
def test_nobody_is_shut_out(window, made, scheme, width):
    window.call("Emulation.setDeviceMetricsOverride", width=width, height=1000, deviceScaleFactor=1, mobile=False)
    window.call("Emulation.setEmulatedMedia", media="", features=[{"name": "prefers-color-scheme", "value": scheme}])
    try:
        Desk(window, made())
        assert window.barriers(AXE) == []
        window.js(
            "document.querySelector('[data-edge=\"front.inseam\"]').dispatchEvent(new MouseEvent('click', {bubbles: true}))"
        )
        assert window.js("document.querySelectorAll('[aria-selected=true]').length") == 1
        assert window.barriers(AXE) == []
    finally:
        window.call("Emulation.clearDeviceMetricsOverride")
        window.call("Emulation.setEmulatedMedia", media="", features=[])
