"""Judged at every save: whole, broken and half saved files, plans and settings, and the step of a plan that is written."""

import asyncio
import shutil
import sys
import threading
import time
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from serving import DEMO, demo_in, serving

from seamcheck.config.plan_file import parse_plan
from seamcheck.watch import refusals
from seamcheck.watch.saving import whole

ALTERED = (DEMO / "ferryhand-altered.svg").read_text(encoding="utf-8")
PLAN = (DEMO / "ferryhand.seams.toml").read_text(encoding="utf-8")


def test_a_save_from_outside_is_judged_and_what_changed_is_told(tmp_path):
    drawing = demo_in(tmp_path)
    with serving(drawing) as served:
        first = served.state()
        assert (first["verdict"]["kind"], first["verdict"]["causes"], first["changed"]) == ("good", [], [])
        drawing.write_text(ALTERED, encoding="utf-8")
        state = served.until(lambda one: one["changed"])
        assert state["verdict"]["kind"] == "error"
        assert state["verdict"]["causes"][0]["title"].startswith("back.outseam, 6.4 mm (1/4 in)")
        assert {key.partition(".")[0] for key in state["changed"]} == {"back"}
        assert state["text"] == PLAN
        # Saved once more as it is, nothing is new.
        drawing.write_text(ALTERED, encoding="utf-8")
        time.sleep(0.6)
        assert served.state()["version"] == state["version"]


def test_a_piece_that_was_only_moved_has_not_changed(tmp_path):
    drawing = demo_in(tmp_path)
    with serving(drawing) as served:
        first = served.state()
        text = drawing.read_text(encoding="utf-8")
        drawing.write_text(text.replace("<svg ", '<svg data-saved="1" ', 1), encoding="utf-8")
        assert served.until(lambda one: one["version"] != first["version"])["changed"] == []


def test_a_broken_file_keeps_the_last_good_picture_with_the_sentence(tmp_path):
    drawing = demo_in(tmp_path)
    good = drawing.read_text(encoding="utf-8")
    with serving(drawing) as served:
        first = served.state()
        drawing.write_text(good[: len(good) // 2], encoding="utf-8")
        state = served.until(lambda one: one["trouble"])
        assert "ferryhand.svg" in state["trouble"]
        assert (state["drawing"], state["verdict"]) == (first["drawing"], first["verdict"])
        drawing.write_text(good, encoding="utf-8")
        assert served.until(lambda one: not one["trouble"])["drawing"] == first["drawing"]


def test_a_broken_plan_is_told_and_the_one_before_stands(tmp_path):
    drawing = demo_in(tmp_path)
    plan = tmp_path / "ferryhand.seams.toml"
    with serving(drawing) as served:
        first = served.state()
        plan.write_text("format = 1\nname = ", encoding="utf-8")
        assert "line 2" in served.until(lambda one: one["trouble"])["trouble"]
        assert served.state()["text"] == first["text"]
        plan.write_text(PLAN.replace('name = "outseam"', 'name = "long seam"'), encoding="utf-8")
        state = served.until(lambda one: not one["trouble"])
        assert 'name = "long seam"' in state["text"]


def test_other_settings_are_judged_by_at_once(tmp_path):
    drawing = demo_in(tmp_path, altered=True)
    settings = tmp_path / "seamcheck.toml"
    settings.write_text("[tolerances]\nseam-length = 1.6\n", encoding="utf-8")
    with serving(drawing) as served:
        assert served.state()["verdict"]["kind"] == "error"
        settings.write_text("[tolerances]\nseam-length = 50\nseam-span = 50\n", encoding="utf-8")
        assert "raised by" in served.until(lambda one: one["verdict"]["kind"] != "error")["verdict"]["said"]


def test_it_is_waited_for_until_a_file_is_whole(tmp_path):
    target = tmp_path / "slow.svg"
    target.write_text("", encoding="utf-8")

    def write() -> None:
        with target.open("a", encoding="utf-8") as file:
            for _ in range(12):
                file.write("line\n")
                file.flush()
                time.sleep(0.02)

    writer = threading.Thread(target=write)
    writer.start()
    asyncio.run(whole([target]))
    writer.join()
    assert target.read_text(encoding="utf-8").count("line") == 12


def test_a_file_that_an_editor_takes_away_and_puts_back_is_waited_for(tmp_path):
    target = tmp_path / "away.svg"
    back = threading.Timer(0.3, target.write_text, ["back"])
    back.start()
    asyncio.run(whole([target]))
    assert target.exists()


def test_a_step_is_written_to_the_letter_and_only_over_what_was_seen(tmp_path):
    drawing = demo_in(tmp_path)
    plan = tmp_path / "ferryhand.seams.toml"
    with serving(drawing) as served:
        first = served.state()
        mine = PLAN.replace('name = "outseam"', 'name = "long seam"  # mine')
        answer = served.step(first, mine)
        assert answer.status == 200
        assert plan.read_text(encoding="utf-8") == mine
        assert not list(tmp_path.glob(".*"))
        # Another window still has what it was told first: it cannot write over this blindly.
        theirs = served.step(first, PLAN)
        assert theirs.status == 409
        assert theirs.data["text"] == mine
        assert plan.read_text(encoding="utf-8") == mine
        # It may once it has seen it, and what it writes over is kept beside it.
        again = served.step(theirs.data, PLAN, aside=True)
        assert again.status == 200
        assert plan.read_text(encoding="utf-8") == PLAN
        assert (tmp_path / "ferryhand.seams.toml.1").read_text(encoding="utf-8") == mine


def test_a_plan_that_changed_on_disk_meanwhile_is_not_lost(tmp_path):
    drawing = demo_in(tmp_path)
    plan = tmp_path / "ferryhand.seams.toml"
    with serving(drawing) as served:
        first = served.state()
        by_hand = PLAN + "\n# by hand, a moment ago\n"
        plan.write_text(by_hand, encoding="utf-8")
        assert served.step(first, PLAN.replace("outseam", "long-seam")).status == 409
        assert plan.read_text(encoding="utf-8") == by_hand


def test_what_is_no_plan_is_not_written(tmp_path):
    drawing = demo_in(tmp_path)
    with serving(drawing) as served:
        answer = served.step(served.state(), PLAN.replace("front.outseam", "front.nowhere"))
        assert answer.status == 422
        assert "nowhere" in answer.data["said"]
        assert (tmp_path / "ferryhand.seams.toml").read_text(encoding="utf-8") == PLAN


def test_without_a_plan_one_is_written_at_the_first_step_and_each_answer_is_solved_again(tmp_path):
    drawing = demo_in(tmp_path, plan=False)
    plan = tmp_path / "ferryhand.seams.toml"
    with serving(drawing) as served:
        state = served.until(lambda one: one["proposals"] and one["question"])
        assert not plan.exists()
        assert state["base"] == ""
        sewn = {seam.name for seam in parse_plan(state["text"]).seams}
        one = state["proposals"][0]
        use = [[("-" if use["back"] else "") + use["edge"] for use in side] for side in one["sides"]]
        text = f'{state["text"]}\n[[seams]]\nname = "{one["name"]}"\nsew = {[side[0] for side in use]!r}\n'.replace(
            "'", '"'
        )
        answer = served.step(state, text)
        assert answer.status == 200
        assert {seam.name for seam in parse_plan(plan.read_text(encoding="utf-8")).seams} == sewn | {one["name"]}
        assert one["sides"] not in [other["sides"] for other in answer.data["proposals"]]
        # What is refused is not proposed again.
        refused = answer.data["proposals"][0]["sides"]
        again = served.step(answer.data, text, refused=[refused])
        assert refused not in [other["sides"] for other in again.data["proposals"]]
        judged = served.until(lambda one: one["base"] == again.data["base"] and one["verdict"])
        assert one["name"] in [seam.name for seam in parse_plan(judged["text"]).seams]


def proposed(state):
    return [one["sides"] for one in state["proposals"]]


def test_what_was_refused_is_not_proposed_at_the_next_run_while_its_plan_is_there(tmp_path):
    drawing = demo_in(tmp_path, plan=False)
    plan = tmp_path / "ferryhand.seams.toml"
    with serving(drawing) as served:
        state = served.until(lambda one: one["proposals"] and one["question"])
        sides, edge = proposed(state)[0], state["question"]["edge"]
        answer = served.step(state, state["text"], refused=[sides], unknown=[edge])
        assert answer.status == 200
        assert sides not in proposed(answer.data)
    # A plan has no place for it: it is one like any other.
    assert plan.read_text(encoding="utf-8") == state["text"]
    assert {one.name for one in tmp_path.iterdir()} == {drawing.name, plan.name}
    with serving(drawing) as served:
        again = served.until(lambda one: one["proposals"])
        assert sides not in proposed(again)
        assert (again["refused"], again["unknown"]) == ([sides], [edge])
        assert again["question"] is None or again["question"]["edge"] != edge
        # What is taken back is proposed again.
        assert sides in proposed(served.step(again, again["text"]).data)
    with serving(drawing) as served:
        assert sides in proposed(served.until(lambda one: one["proposals"]))


def test_what_was_refused_beyond_a_plan_that_is_gone_or_in_a_spoiled_file_counts_no_more(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "own"))
    drawing = demo_in(tmp_path, plan=False)
    plan = tmp_path / "ferryhand.seams.toml"
    with serving(drawing) as served:
        state = served.until(lambda one: one["proposals"])
        sides = proposed(state)[0]
        served.step(state, state["text"], refused=[sides])
    told = refusals.kept(plan)
    assert told.refused
    plan.rename(tmp_path / "aside.toml")
    assert refusals.kept(plan) == refusals.Refusals()
    (tmp_path / "aside.toml").rename(plan)
    assert refusals.kept(plan) == told
    (kept,) = (refusals.configuration_folder() / "refused").glob("*.json")
    good = kept.read_text(encoding="utf-8")
    for spoiled in (
        "",
        "[]",
        "{}",
        good[:-9],
        '{"refused": [[["a"], ["b.c"]]], "unknown": []}',
        '{"refused": [], "unknown": [1]}',
        '{"refused": [1], "unknown": []}',
    ):
        kept.write_text(spoiled, encoding="utf-8")
        assert refusals.kept(plan) == refusals.Refusals()


@pytest.mark.parametrize("named", ["ferryhand.seams.toml", "."])
def test_a_plan_or_a_folder_stands_for_its_patterns(tmp_path, named):
    demo_in(tmp_path)
    with serving(tmp_path / named) as served:
        assert served.state()["files"] == [[0, "ferryhand.svg"]]


def test_against_an_earlier_file_what_was_left_behind_is_told(tmp_path):
    drawing = demo_in(tmp_path, altered=True)
    before = DEMO / "ferryhand.svg"
    with serving(drawing, before=before, plan=tmp_path / "ferryhand.seams.toml") as served:
        assert served.state()["verdict"]["kind"] == "error"


def test_a_file_that_cannot_be_read_at_first_is_shown_once_it_can(tmp_path):
    drawing = demo_in(tmp_path)
    good = drawing.read_text(encoding="utf-8")
    drawing.write_text(good[:500], encoding="utf-8")
    with serving(drawing) as served:
        assert served.ask("").status == 200
        state = served.state()
        assert "ferryhand.svg" in state["trouble"]
        assert state["drawing"] == ""
        drawing.write_text(good, encoding="utf-8")
        assert served.until(lambda one: not one["trouble"])["verdict"]["kind"] == "good"


def test_of_a_folder_each_pattern_is_there_and_judged_at_its_own_saves(tmp_path):
    demo_in(tmp_path)
    for name in ("ferryhand.svg", "ferryhand.seams.toml"):
        (tmp_path / name.replace("ferryhand", "second")).write_bytes((tmp_path / name).read_bytes())
    with serving(tmp_path) as served:
        assert served.state()["files"] == [[0, "ferryhand.svg"], [1, "second.svg"]]
        assert served.ask("state?file=1").data["verdict"]["kind"] == "good"
        (tmp_path / "second.svg").write_text(ALTERED, encoding="utf-8")
        end = time.monotonic() + 30
        while served.ask("state?file=1").data["verdict"]["kind"] != "error":
            assert time.monotonic() < end
            time.sleep(0.05)
        assert served.state()["verdict"]["kind"] == "good"


def test_a_pattern_that_comes_into_a_folder_is_taken_up_and_one_that_goes_is_let_go(tmp_path):
    demo_in(tmp_path)
    other = tmp_path / "other.svg"
    with serving(tmp_path) as served:
        assert served.state()["files"] == [[0, "ferryhand.svg"]]
        (tmp_path / "notes.txt").write_text("nothing to sew", encoding="utf-8")
        other.write_text(ALTERED, encoding="utf-8")
        assert served.until(lambda one: len(one["files"]) == 2)["files"] == [[0, "ferryhand.svg"], [1, "other.svg"]]
        # It has no plan yet: there it is asked what is sewn to what.
        assert served.ask("state?file=1").data["base"] == ""
        shutil.copy(DEMO / "ferryhand.seams.toml", tmp_path / "other.seams.toml")
        end = time.monotonic() + 30
        while served.ask("state?file=1").data["verdict"]["kind"] != "error":
            assert time.monotonic() < end
            time.sleep(0.05)
        other.unlink()
        assert served.until(lambda one: len(one["files"]) == 1)["files"] == [[0, "ferryhand.svg"]]
        # Who still looks at it sees what was there last, and why.
        while not (gone := served.ask("state?file=1").data)["trouble"]:
            assert time.monotonic() < end
            time.sleep(0.05)
        assert "other.svg" in gone["trouble"]
        assert gone["drawing"]
        other.write_text(ALTERED, encoding="utf-8")
        served.until(lambda one: [1, "other.svg"] in one["files"])


def test_a_folder_in_a_folder_is_watched_too_and_equal_names_are_told_apart(tmp_path):
    demo_in(tmp_path)
    with serving(tmp_path) as served:
        served.state()
        below = tmp_path / "sent"
        below.mkdir()
        demo_in(below)
        files = served.until(lambda one: len(one["files"]) == 2)["files"]
        assert files == [[0, "ferryhand.svg"], [1, str(Path("sent") / "ferryhand.svg")]]
        shutil.copy(DEMO / "ferryhand-altered.svg", below / "ferryhand.svg")
        end = time.monotonic() + 30
        while served.ask("state?file=1").data["verdict"]["kind"] != "error":
            assert time.monotonic() < end
            time.sleep(0.05)


def test_an_editor_that_takes_a_file_away_and_puts_it_back_lets_go_of_nothing(tmp_path):
    drawing = demo_in(tmp_path, altered=True)
    with serving(tmp_path) as served:
        told = []
        served.state()
        version = served.state()["version"]
        aside = tmp_path / "ferryhand.svg~"
        drawing.rename(aside)
        time.sleep(0.4)
        told.append(served.state()["files"])
        aside.rename(drawing)
        shutil.copy(DEMO / "ferryhand.svg", drawing)
        state = served.until(lambda one: told.append(one["files"]) or one["version"] > version)
        assert state["verdict"]["kind"] == "good"
        assert all(files == [[0, "ferryhand.svg"]] for files in told)


def test_save_after_save_is_shown_and_the_last_one_stays(tmp_path):
    drawing = demo_in(tmp_path)
    good = drawing.read_text(encoding="utf-8")
    with serving(drawing) as served:
        served.state()
        for k in range(8):  # faster than they can be judged
            drawing.write_text((ALTERED, good)[k % 2].replace("</svg>", f"<!-- {k} --></svg>"), encoding="utf-8")
            time.sleep(0.03)
        drawing.write_text(ALTERED, encoding="utf-8")
        served.until(lambda one: one["verdict"]["kind"] == "error")
        time.sleep(0.5)
        assert served.state()["verdict"]["kind"] == "error"
