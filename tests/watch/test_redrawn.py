"""What is drawn anew under somebody's hands: the keys stay on the same thing, the choice stays, and nothing older is shown for newer."""

import shutil
import sys
import threading
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parents[1] / "report"))

from browser import find_browser
from person import AT_REST, open_at, said
from serving import DEMO, demo_in, serving

from seamcheck.watch.desk import Desk
from seamcheck.watch.pairs import Pairs

pytestmark = pytest.mark.skipif(find_browser() is None, reason="no Chromium is installed to open the page in")

PLAN = (DEMO / "ferryhand.seams.toml").read_text(encoding="utf-8")
ALTERED = (DEMO / "ferryhand-altered.svg").read_text(encoding="utf-8")
NEST = Path(__file__).parents[2] / "fixtures" / "ferryhand"
REDRAWN = "!document.body.contains(window.before)"


def redrawn_by(window, save) -> None:
    """Wait until what is saved has drawn all pieces anew."""
    window.js("window.before = document.querySelector('#pieces').firstElementChild")
    save()
    window.wait(REDRAWN)
    window.wait(AT_REST)


def under_the_keys(window) -> str:
    return window.js(
        "document.activeElement.dataset.edge ?? document.activeElement.dataset.focus ?? document.activeElement.id"
    )


def test_the_keys_stay_on_their_edge_and_the_choice_stays_while_the_table_is_drawn_anew(window, tmp_path):
    drawing = demo_in(tmp_path)
    with serving(drawing) as served:
        open_at(window, served)
        window.click("[data-tool=sew]")
        window.js("document.querySelector('#pieces [tabindex=\"0\"]').focus()")
        window.key("ArrowDown")
        window.key("ArrowRight")
        edge = under_the_keys(window)
        assert edge == window.js("focus")
        window.key("Enter")
        assert window.js("chosen.edge") == edge
        redrawn_by(window, lambda: drawing.write_text(ALTERED, encoding="utf-8"))
        assert under_the_keys(window) == edge
        assert window.js("chosen.edge") == edge
        assert window.js("document.querySelectorAll('.edge[aria-selected=true]').length") == 1
        window.key("ArrowRight")
        assert under_the_keys(window) == window.js("focus") != edge
        window.key("ArrowLeft")
        window.key("Enter")
        assert said(window) == f"{edge} is let go."
        assert window.errors == []


def test_an_edge_under_another_name_stays_under_the_keys_and_chosen(window, tmp_path):
    drawing = demo_in(tmp_path)
    with serving(drawing) as served:
        open_at(window, served)
        window.click("[data-tool=sew]")
        window.js("moveFocus('back.outseam')")
        window.key("Enter")
        window.js("apply(() => edgeRenamed(state, 'back.outseam', 'long side'))")
        window.wait("data.edges['back.long side'] !== undefined")
        window.wait(AT_REST)
        assert under_the_keys(window) == "back.long side"
        assert window.js("chosen.edge") == "back.long side"
        # A corner parts it: the keys stay on its first part.
        window.js("apply(() => cornerAdded(data, state, 'back.long side', 300, 'knee'))")
        window.wait("data.edges['back.long side-1'] !== undefined")
        window.wait(AT_REST)
        assert under_the_keys(window) == "back.long side-1"


def test_what_is_typed_and_opened_stays_while_a_save_is_shown(window, tmp_path):
    drawing = demo_in(tmp_path, altered=True)
    other = ALTERED.replace("</svg>", "<!-- saved once more --></svg>")
    plan = tmp_path / "ferryhand.seams.toml"
    with serving(drawing) as served:
        open_at(window, served)
        window.click("[data-focus='cause 1']")
        window.js("document.querySelector('#causes details').open = true")
        window.click("[data-focus='why 1']")
        window.type("let in")
        version = window.js("drawn")
        # Another band for the whole plan: the cause is told anew.
        plan.write_text(PLAN.replace("format = 1", "format = 1\ntolerance = 1.5", 1), encoding="utf-8")
        window.wait(f"drawn > {version}")
        version = window.js("drawn")
        drawing.write_text(other, encoding="utf-8")
        window.wait(f"drawn > {version}")
        assert under_the_keys(window) == "why 1"
        window.type(" with the iron")
        assert window.js("document.activeElement.value") == "let in with the iron"


def test_a_plan_changed_elsewhere_leaves_the_choice_unless_it_is_another_thing_now(window, tmp_path):
    drawing = demo_in(tmp_path)
    plan = tmp_path / "ferryhand.seams.toml"
    with serving(drawing) as served:
        open_at(window, served)
        window.click("[data-tool=sew]")
        window.click("[data-focus='seam 2']")
        name = window.js("seamOfId(chosen.seam).name")
        plan.write_text(PLAN + "\n# by hand\n", encoding="utf-8")
        window.wait("state.base.includes('# by hand')")
        assert window.js("seamOfId(chosen.seam).name") == name
        assert under_the_keys(window) == "seam 2"
        assert said(window) == "The plan was changed elsewhere, and is shown as it is now."
        # An open edge that is sewn elsewhere meanwhile is no longer what was chosen.
        parted = PLAN[: PLAN.index("[[seams]]")]
        plan.write_text(parted, encoding="utf-8")
        window.wait("!state.seams.some((seam) => !seam.asked)")
        window.wait(AT_REST)
        window.js("chooseEdge('back.outseam')")
        plan.write_text(PLAN, encoding="utf-8")
        window.wait("roleOf(state, 'back.outseam') === 'sewn'")
        assert window.js("chosen") is None


def test_who_answers_by_the_keys_stays_at_the_question_while_the_next_is_worked_out(window, tmp_path):
    drawing = demo_in(tmp_path, plan=False)
    with serving(drawing) as served:
        served.until(lambda state: state["question"])
        open_at(window, served)
        asked = window.js("data.question.edge")
        window.js("document.querySelector('[data-focus=\"answer 0\"]').focus()")
        window.key("Enter")
        window.wait("host.busy || data.question?.edge !== " + repr(asked))
        window.wait(AT_REST)
        assert window.js("data.question.edge") != asked
        assert under_the_keys(window) == "ask-title"
        window.key("Tab")
        assert under_the_keys(window) == "answer 0"
        assert window.errors == []


def test_a_picture_that_comes_while_a_step_is_written_is_shown_after_it(window, tmp_path, monkeypatch):
    """The step is judged before what follows from it is worked out: its news come while the page still waits for its own answer."""
    drawing = demo_in(tmp_path)
    judged = threading.Event()
    solved, tell = Pairs.solved, Desk._tell

    def late(self, plan, *beyond):
        if any("round" in piece.corners for piece in plan.pieces):
            assert judged.wait(30)
        return solved(self, plan, *beyond)

    def telling(self, number, table):
        tell(self, number, table)
        if "round" in table.text:
            judged.set()

    monkeypatch.setattr(Pairs, "solved", late)
    monkeypatch.setattr(Desk, "_tell", telling)
    with serving(drawing) as served:
        open_at(window, served)
        window.js("apply(() => cornerAdded(data, state, 'pocket.topstitched', 150, 'round'))")
        window.wait("data.edges['pocket.topstitched-1'] !== undefined")
        assert window.errors == []


def test_the_size_that_is_chosen_stays_whatever_news_come(window, tmp_path):
    for name in ("ferryhand-nest.dxf", "ferryhand-nest.seams.toml"):
        shutil.copy(NEST / name, tmp_path)
    plan = tmp_path / "ferryhand-nest.seams.toml"
    with serving(tmp_path / "ferryhand-nest.dxf") as served:
        open_at(window, served)
        other = window.js("data.sizes.find((size) => size !== data.size)")
        # The answer that holds the old size is on its way when the new one is chosen, and comes after it.
        window.js(
            "window.late = {}; const asked = host.state; host.state = (size, file) => { const answer = asked(size, file);"
            f"return size === {other!r} ? answer : answer.then((fresh) => new Promise((go) => {{ late.go = () => go(fresh); }})); }};"
        )
        plan.write_text(plan.read_text(encoding="utf-8") + "\n# by hand\n", encoding="utf-8")
        window.wait("late.go !== undefined")
        window.js(f"changeSize({other!r}).then(() => late.go())")
        window.wait(AT_REST)
        assert window.js("data.size") == other
        assert "# by hand" in window.js("state.base")
        assert window.errors == []
