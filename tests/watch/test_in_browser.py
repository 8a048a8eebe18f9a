"""The page of `watch` in a real browser, with the server behind it: looking, sewing together, two windows, saves from outside."""

import shutil
import sys
import time
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parents[1] / "report"))

from browser import browser, find_axe, find_browser
from drafted import drafted
from person import AT_REST, Person, edges_on, open_at, said, truth_of
from serving import DEMO, demo_in, serving

from seamcheck.config.plan_file import parse_plan

EXECUTABLE = find_browser()
AXE = find_axe()

pytestmark = pytest.mark.skipif(EXECUTABLE is None, reason="no Chromium is installed to open the page in")

PLAN = (DEMO / "ferryhand.seams.toml").read_text(encoding="utf-8")
ALTERED = (DEMO / "ferryhand-altered.svg").read_text(encoding="utf-8")


# Looking


def test_all_pieces_are_whole_on_the_opening_view_and_hovering_tells_of_an_edge(window, tmp_path):
    with serving(demo_in(tmp_path)) as served:
        open_at(window, served)
        hidden = window.js(
            "(() => { const room = document.getElementById('pane').getBoundingClientRect();"
            "return [...document.querySelectorAll('#pieces .outline')].filter((e) => { const r = e.getBoundingClientRect();"
            "return r.left < room.left || r.right > room.right || r.top < room.top || r.bottom > room.bottom; }).length; })()"
        )
        assert hidden == 0
        spot = window.js(
            "(() => { const [x, y] = samples('front.outseam')[12], r = pane();"
            "return [r.left + (x - view.x) * scale, r.top + (y - view.y) * scale]; })()"
        )
        window.call("Input.dispatchMouseEvent", type="mouseMoved", x=spot[0], y=spot[1])
        told = window.js("document.getElementById('readout').textContent")
        length = window.js("data.edges['front.outseam'].length")
        assert told.startswith(f"front.outseam: {length:.0f} mm (")
        assert "sewn to back.outseam, no difference" in told
        assert window.errors == []
        assert all(url.startswith(served.address) for url in window.requests)


def test_wheel_drag_keys_and_search_move_the_picture(window, tmp_path):
    with serving(demo_in(tmp_path)) as served:
        open_at(window, served)
        whole = window.js("[view.x, view.y, view.w]")
        window.call("Input.dispatchMouseEvent", type="mouseWheel", x=400, y=400, deltaX=0, deltaY=-400)
        window.wait(f"view.w < {whole[2]} * 0.7")
        before = window.js("[view.x, view.y]")
        window.call("Input.dispatchMouseEvent", type="mousePressed", x=400, y=400, button="left", clickCount=1)
        window.call("Input.dispatchMouseEvent", type="mouseMoved", x=460, y=430, button="left", buttons=1)
        window.call("Input.dispatchMouseEvent", type="mouseReleased", x=460, y=430, button="left", clickCount=1)
        assert window.js("[view.x, view.y]")[0] < before[0]
        assert window.js("chosen") is None  # who drags chooses nothing
        window.click("#whole")
        assert window.js("[view.x, view.y, view.w]") == pytest.approx(whole, abs=0.01)
        window.click("#search")
        window.type("band-back")
        assert window.js("document.getElementById('found-names').textContent").startswith("piece band-back")
        window.js("document.querySelector('#pieces [tabindex=\"0\"]').focus()")
        window.key("+")
        assert window.js("view.w") < whole[2]
        window.key("0")
        assert window.js("view.w") == pytest.approx(whole[2], abs=0.01)


def test_two_fingers_come_nearer(window, tmp_path):
    with serving(demo_in(tmp_path)) as served, window.as_wide_as(380, touch=True):
        open_at(window, served)
        before = window.js("view.w")
        for kind, apart in (("touchStart", 40), ("touchMove", 80), ("touchMove", 120)):
            points = [{"x": 190 - apart / 2, "y": 400, "id": 0}, {"x": 190 + apart / 2, "y": 400, "id": 1}]
            window.call("Input.dispatchTouchEvent", type=kind, touchPoints=points)
        window.call("Input.dispatchTouchEvent", type="touchEnd", touchPoints=[])
        assert window.js("view.w") < before * 0.6


def test_a_cause_is_chosen_and_the_picture_goes_there(window, tmp_path):
    with serving(demo_in(tmp_path, altered=True)) as served:
        open_at(window, served)
        assert window.js("tool") == "look"
        assert "1 thing to put right" in window.js("document.getElementById('verdict').textContent")
        window.click("#causes .name")
        window.wait("document.querySelector('#causes .chosen')")
        at = window.js("causesNow()[0].at")
        seen = window.js("[view.x, view.y, view.x + view.w, view.y + view.h]")
        assert seen[0] < at[0] < seen[2]
        assert seen[1] < at[1] < seen[3]
        assert window.js("document.querySelectorAll('.stretch').length") == 1
        text = window.js("document.getElementById('causes').textContent")
        assert "Lengthen back.outseam by 6.4 mm (1/4 in)" in text
        assert window.errors == []


def test_a_save_from_outside_is_shown_while_the_page_is_open_and_what_changed_is_marked(window, tmp_path):
    drawing = demo_in(tmp_path)
    with serving(drawing) as served:
        open_at(window, served)
        assert "othing to put right" in window.js("document.getElementById('verdict').textContent")
        drawing.write_text(ALTERED, encoding="utf-8")
        window.wait("document.getElementById('verdict').textContent.includes('1 thing to put right')")
        assert "back.outseam" in window.js("document.getElementById('changed').textContent")
        assert window.js("document.querySelectorAll('.edge.changed').length") > 0
        drawing.write_text(ALTERED[:3000], encoding="utf-8")
        window.wait("!document.getElementById('trouble').hidden")
        assert window.js("document.querySelectorAll('#pieces .piece').length") == 7
        drawing.write_text(ALTERED, encoding="utf-8")
        window.wait("document.getElementById('trouble').hidden")
        assert window.errors == []


def test_a_pattern_comes_into_the_folder_is_laid_on_the_table_and_goes(window, tmp_path):
    demo_in(tmp_path)
    other = tmp_path / "other.svg"
    listed = "[...document.querySelectorAll('#file option')].map((one) => one.textContent)"
    with serving(tmp_path) as served:
        open_at(window, served)
        window.js("window.before = document")  # gone with a reload
        assert window.js("document.getElementById('file-box').hidden")
        other.write_text(ALTERED, encoding="utf-8")
        window.wait(f"{listed}.length === 2")
        assert window.js(listed) == ["ferryhand.svg", "other.svg"]
        assert said(window) == "New in the folder: other.svg."
        window.js("document.getElementById('file').value = '1'")
        window.js("document.getElementById('file').dispatchEvent(new Event('change'))")
        window.wait("data.number === 1 && data.file === 'other.seams.toml'")
        window.wait(AT_REST)
        other.unlink()
        window.wait(f"{listed}.includes('other.svg (gone)') && !document.getElementById('trouble').hidden")
        assert "other.svg" in window.js("document.getElementById('trouble').textContent")
        assert window.js("document.querySelectorAll('#pieces .piece').length") == 7
        window.js("document.getElementById('file').value = '0'")
        window.js("document.getElementById('file').dispatchEvent(new Event('change'))")
        window.wait("data.number === 0")
        assert window.js("document.getElementById('file-box').hidden")
        assert window.js("window.before === document")
        assert window.errors == []


def test_a_wrong_address_opens_nothing(window, tmp_path):
    with serving(demo_in(tmp_path)) as served:
        window.go(served.address.replace("alone", "wrong"))
        assert "Open the address that seamcheck shows" in window.js("document.body.textContent")
        assert window.js("document.querySelectorAll('svg').length") == 0


# Sewing together


def pattern(folder, tmp_path, name):
    source = next(path for path in drafted(folder).glob(f"{name}.*") if path.suffix != ".toml")
    shutil.copy(source, tmp_path)
    return tmp_path / source.name, source


@pytest.mark.parametrize("means", ["mouse", "keys", "touch"])
def test_a_whole_plan_without_typing(window, tmp_path, means):
    """Pieces without names; by touch and by keys of a pattern that is smaller."""
    folder, name = (
        ("heldout", "band-concert-peplum-bodice-bare") if means == "mouse" else ("corpus", "oarsman-singlet-bare")
    )
    drawing, source = pattern(folder, tmp_path, name)
    width = 380 if means == "touch" else 1400
    with serving(drawing) as served, window.as_wide_as(width, touch=means == "touch"):
        served.until(lambda state: state["proposals"])
        open_at(window, served)
        truth = truth_of(drawing, edges_on(window), (source, source.with_suffix(".seams.toml"), 0j))
        assert truth.lost == ()
        person = Person(window, truth, means)
        acts = person.pair_all()
        plan = parse_plan((tmp_path / f"{name}.seams.toml").read_text(encoding="utf-8"))
        sewn = {frozenset(frozenset(use.name for use in side) for side in seam.sides) for seam in plan.seams}
        assert sewn == truth.seams
        assert acts <= 25, person.log
        assert window.errors == []
        state = served.until(lambda state: state["verdict"] and state["text"] == window.js("textOf(state)"))
        assert state["trouble"] == ""


def test_each_step_is_written_and_undone_and_nobody_elses_letters_are_touched(window, tmp_path):
    drawing = demo_in(tmp_path)
    plan = tmp_path / "ferryhand.seams.toml"
    with serving(drawing) as served:
        open_at(window, served)
        window.click("[data-tool=sew]")
        window.click("[data-focus='part 2']")
        window.wait("!host.busy")
        assert 'name = "inseam"' not in plan.read_text(encoding="utf-8")
        kept = [line for line in PLAN.splitlines() if "#" in line]
        assert set(kept) <= set(plan.read_text(encoding="utf-8").splitlines())
        window.key("z", control=True)
        window.wait("!host.busy")
        assert plan.read_text(encoding="utf-8") == PLAN
        window.click("#redo")
        window.wait("!host.busy")
        assert 'name = "inseam"' not in plan.read_text(encoding="utf-8")
        assert window.errors == []


def test_a_corner_a_name_a_dart_and_what_is_accepted_are_said_without_toml(window, tmp_path):
    drawing = demo_in(tmp_path, altered=True)
    path = tmp_path / "ferryhand.seams.toml"

    def plan():
        window.wait("!host.busy")
        return parse_plan(path.read_text(encoding="utf-8"))

    with serving(drawing) as served:
        open_at(window, served)
        window.click("[data-focus='cause 1']")
        window.js("document.querySelector('#causes details').open = true")
        window.click("[data-focus='why 1']")
        window.type("let in with the iron")
        window.click("[data-focus='accept 1']")
        accepted = plan().accepted[-1]
        assert (accepted.check, accepted.seam, accepted.why) == ("seam-length", "outseam", "let in with the iron")
        window.click("[data-tool=sew]")
        window.js("apply(() => cornerAdded(data, state, 'pocket.topstitched', 150, 'round'))")
        assert plan().piece("pocket").edges["topstitched-1"][-1] == "round"
        assert plan().piece("pocket").unsewn == ("opening", "topstitched-1", "topstitched-2")
        window.wait("data.edges['pocket.topstitched-1'] !== undefined")
        assert window.js("data.edges['pocket.topstitched-1'].length") == pytest.approx(150, abs=0.5)
        window.js("apply(() => edgeRenamed(state, 'back.outseam', 'long side'))")
        assert [str(use) for use in plan().seams[0].sides[1]] == ["back.long side"]
        window.js("apply(() => cornerRenamed(state, 'back', 'side-hem', 'ankle'))")
        assert "ankle" in plan().piece("back").corners
        assert plan().piece("back").edges["hem"] == ("ankle", "inseam-hem")
        window.js("apply(() => masterSet(state, 'front', true))")
        assert plan().piece("front").master
        for key, typed in (("tolerance", "3"), ("master", "second")):
            window.js(f"apply(() => restSet(state, 1, '{key}', '{typed}'))")
        window.js("apply(() => allowed(state, 1, 'ease', '0', '6', 'mm'))")
        window.js("apply(() => restSet(state, 1, 'ease-between', '85 to 400'))")
        seam = plan().seams[0]
        assert (seam.tolerance, seam.master, seam.ease, seam.ease_between) == (
            3.0,
            "second",
            (0.0, 6.0),
            (85.0, 400.0),
        )
        window.js("apply(() => foldedAway(state, 'pleat', 'pocket', ['round', 'top-left']))")
        assert plan().pleats[0].corners == ("round", "top-left")
        kept = [line for line in PLAN.splitlines() if line.startswith("#")]
        assert set(kept) <= set(path.read_text(encoding="utf-8").splitlines())
        for _ in range(11):
            window.click("#undo")
            window.wait("!host.busy")
        assert path.read_text(encoding="utf-8") == PLAN
        assert window.errors == []


def test_what_speaks_against_a_pair_is_told_before_and_after(window, tmp_path):
    with serving(demo_in(tmp_path)) as served:
        open_at(window, served)
        window.click("[data-tool=sew]")
        window.js("chooseEdge('pocket.opening')")
        window.js("pointAt('front.hem')")
        told = window.js("document.getElementById('readout').textContent")
        assert "longer" in told or "shorter" in told
        assert window.js("document.querySelectorAll('#readout .strip').length") == 1
        window.js("pointAt('back.outseam')")
        assert "times as long as the other" in window.js("document.getElementById('readout').textContent")
        window.wait("!waiting")


def test_a_second_window_is_told_the_newest_state_and_a_conflict_is_a_choice(tmp_path):
    drawing = demo_in(tmp_path)
    plan = tmp_path / "ferryhand.seams.toml"
    with browser(EXECUTABLE) as one, browser(EXECUTABLE) as two, serving(drawing) as served:
        for window in (one, two):
            open_at(window, served)
            window.click("[data-tool=sew]")
        one.click("[data-focus='part 2']")
        two.wait("!state.seams.some((seam) => seam.name === 'inseam')")
        assert "shown as it is now" in said(two) or two.js("past.length") == 0
        # A step that rests on an older plan than the file's is a choice.
        by_hand = plan.read_text(encoding="utf-8") + "\n# by hand\n"
        two.js("host.listen = null; refresh = () => {};")
        plan.write_text(by_hand, encoding="utf-8")
        two.js("apply(() => parted(state, 1))")
        two.wait("!document.getElementById('choice').hidden")
        assert plan.read_text(encoding="utf-8") == by_hand
        two.click("#keep-mine")
        two.wait("!host.busy")
        assert 'name = "outseam"' not in plan.read_text(encoding="utf-8")
        assert (tmp_path / "ferryhand.seams.toml.1").read_text(encoding="utf-8") == by_hand


# Truing


def test_a_proposal_is_drawn_taken_and_taken_back(window, tmp_path):
    with serving(demo_in(tmp_path, altered=True)) as served:
        open_at(window, served)
        window.click("[data-tool=true]")
        window.wait("document.querySelectorAll('#over .ought').length > 0")
        assert "strays" in window.js("document.getElementById('truing').textContent")
        assert not (tmp_path / "ferryhand-trued.svg").exists()
        window.click("[data-focus='take 0 a']")
        window.wait("truing.taken.length === 1")
        assert (tmp_path / "ferryhand-trued.svg").exists()
        assert window.js("document.querySelectorAll('#over .old').length") == 1
        window.click("#take-back")
        window.wait("truing.taken.length === 0")
        assert not (tmp_path / "ferryhand-trued.svg").exists()
        assert window.errors == []


def test_what_was_taken_before_a_save_is_told_of_and_taken_back(window, tmp_path):
    drawing = demo_in(tmp_path, altered=True)
    with serving(drawing) as served:
        open_at(window, served)
        window.click("[data-tool=true]")
        window.wait("truing !== null && !asking")
        window.click("[data-focus='way 0 b']")
        before = window.js("drawn")
        drawing.write_text(ALTERED.replace("</svg>", "<!-- once more --></svg>"), encoding="utf-8")
        window.wait(f"drawn > {before} && !asking && newest <= drawn")
        # What is looked at stays so while it is proposed.
        assert window.js("document.querySelector('#truing .chosen button').textContent").startswith("b. ")
        window.click("[data-focus='take 0 b']")
        window.wait("truing.taken.length === 1")
        assert said(window).startswith("Taken, and written to ferryhand-trued.svg: ")
        drawing.write_text(ALTERED, encoding="utf-8")
        window.wait("truing.left.length === 1 && !asking")
        assert "before the drawing or its plan changed" in window.js("document.getElementById('taken').textContent")
        assert window.js("truing.taken") == []
        window.click("#take-back")
        window.wait("truing.left.length === 0")
        assert said(window).endswith("ferryhand-trued.svg is taken away.")
        assert not (tmp_path / "ferryhand-trued.svg").exists()
        assert window.js("document.getElementById('take-back').hidden")
        assert window.errors == []


def test_a_fit_is_dragged_and_what_the_mates_need_moves_with_it(window, tmp_path):
    with serving(demo_in(tmp_path)) as served:
        open_at(window, served)
        window.click("[data-tool=alter]")
        window.wait("rehearsal?.whole && !rehearsing")
        window.js("document.querySelector('[data-focus=\"fit name\"]').value = 'prominent-calf'")
        window.js("document.querySelector('[data-focus=\"fit name\"]').dispatchEvent(new Event('change'))")
        window.wait("wished.name === 'prominent-calf' && !rehearsing && rehearsal.whole")
        first = window.js("document.querySelector('[data-seam-of=outseam]').textContent")
        window.js("document.getElementById('fit-amount').focus()")
        for _ in range(4):
            window.key("ArrowRight")
        window.wait("!rehearsing")
        assert window.js("document.querySelector('[data-seam-of=outseam]').textContent") != first
        assert window.js("document.querySelectorAll('#over .ought').length") == 1
        assert [path.name for path in tmp_path.glob("*altered*")] == []
        assert window.errors == []


def test_what_is_seen_in_the_cloth_leads_to_a_fit_by_the_keys_alone(window, tmp_path):
    with serving(demo_in(tmp_path)) as served:
        open_at(window, served)
        window.click("[data-tool=alter]")
        window.wait("rehearsal?.whole && !rehearsing")
        window.js("document.getElementById('which-title').focus()")
        window.key("Enter")
        window.wait("guide !== null")
        assert "one change at a time" in window.js("document.getElementById('which').textContent")
        for asked, answer in (("place", "under-seat"), ("folds", "slanting-up"), ("cloth", "loose")):
            if window.js("guide.asked") != asked:
                window.js(f"askWhich('{asked}')")
                window.wait(f"guide.asked === '{asked}'")
            drawn = window.js(f"Object.keys(guide.drawn).includes('{answer}')")
            assert window.js(f"Boolean(document.querySelector('[data-focus=\"seen {answer}\"] svg'))") == drawn
            while window.js("document.activeElement.dataset.focus") != f"seen {answer}":
                window.key("Tab")
            window.key("Enter")
            window.wait(f"guide.answers.{asked} === '{answer}'")
            # The keys go on from what is asked next.
            window.wait("document.activeElement === document.querySelector('#which h3')")
        assert window.js("guide.likeliest") == ["flat-seat"]
        told = window.js("document.getElementById('which').textContent")
        assert "Likeliest" in told
        assert "none to pinch" in told  # why another is ruled out
        window.js("document.querySelector('[data-focus=\"rehearse flat-seat\"]').focus()")
        window.key("Enter")
        window.wait("wished.name === 'flat-seat' && !rehearsing && rehearsal.whole")
        assert window.js("document.activeElement.dataset.focus") == "fit name"
        assert window.js("document.querySelectorAll('#over .ought').length") > 0
        assert [path.name for path in tmp_path.glob("*altered*")] == []
        assert window.errors == []


def test_what_asks_for_less_is_rehearsed_with_less(window, tmp_path):
    with serving(demo_in(tmp_path)) as served:
        open_at(window, served)
        window.click("[data-tool=alter]")
        window.wait("rehearsal?.whole && !rehearsing")
        window.click("#which-title")
        window.js("seen = { place: 'crotch', crotch: 'low' }; askWhich()")
        window.wait("guide?.likeliest[0] === 'crotch-depth'")
        window.click("[data-focus='rehearse crotch-depth']")
        window.wait("wished.name === 'crotch-depth' && !rehearsing && rehearsal.whole")
        assert window.js("wished.amount") < 0
        # What is not known is no answer; and all may be said anew.
        window.click("[data-focus='seen anew']")
        window.wait("Object.keys(guide.answers).length === 0")
        window.click("[data-focus='seen ?']")
        window.wait("guide.answers.place === '?'")
        assert "Nothing is known yet" in window.js("document.getElementById('which').textContent")


@pytest.mark.skipif(AXE is None, reason="no axe-core is there to look for barriers with")
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [1400, 380])
def test_nobody_is_shut_out(window, tmp_path, scheme, width):
    with serving(demo_in(tmp_path, altered=True)) as served, window.as_wide_as(width, scheme=scheme):
        open_at(window, served)
        window.click("[data-focus='cause 1']")
        time.sleep(0.1)
        assert window.barriers(AXE) == []
        for tool, more in (
            ("sew", "chooseEdge('front.inseam'), pointAt('back.hem')"),
            ("true", "0"),
            ("alter", "0"),
            ("send", "0"),
        ):
            window.click(f"[data-tool={tool}]")
            window.js(more)
            if tool == "true":
                window.wait("truing !== null && !asking")
            if tool == "alter":
                window.wait("rehearsal !== null && !rehearsing")
            window.js("document.querySelectorAll('#side details').forEach((one) => { one.open = true; })")
            if tool == "alter":
                window.wait("guide !== null")
                window.js("seen = { place: 'under-seat', folds: 'level' }; askWhich('folds')")
                window.wait("guide?.asked === 'folds' && document.querySelectorAll('.rank').length > 0")
            assert window.barriers(AXE) == [], tool
        assert window.errors == []
