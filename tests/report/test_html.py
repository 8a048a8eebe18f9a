"""The page of a report: what it says and is made of; `test_html_in_browser.py` uses it."""

import os
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

import judging
from pages import CORPUS, DEMO, Page, altered, judged, page

from seamcheck.amounts import Length, Listed, Name, Phrase, PlainLength, phrase
from seamcheck.checks.base import Severity
from seamcheck.engine.causes import causes_of
from seamcheck.engine.report_format import RenderOptions
from seamcheck.engine.result import FileResult, Report
from seamcheck.errors import Failure, SeamcheckError
from seamcheck.report import telling
from seamcheck.report.cautions import CAUTIONS
from seamcheck.report.figures.base import length as figure_length
from seamcheck.report.figures.base import said as figure_words
from seamcheck.report.html import amounts as html_amounts
from seamcheck.report.html.page import REPORT, _templates, render

pytestmark = pytest.mark.usefixtures("read_once")

MADE = {
    "curves": lambda: altered("prominent-calf"),
    "digitised": lambda: altered("flat-seat", "-digitised.svg", "ferryhand-digitised"),
    "apparel": lambda: altered("low-seat", "-apparel.dxf", "ferryhand-nest"),
    "cad": lambda: altered("gaping-band", "-cad.dxf", "ferryhand-cad"),
    "nest": lambda: judged(DEMO / "ferryhand-nest.dxf", DEMO / "ferryhand-nest.seams.toml"),
    "bare": lambda: judged(CORPUS / "stage-bodice-set-in-sleeve-bare.svg"),
}


def prose(said) -> str:
    """What is said as it stands on the page."""
    return str(_templates().get_template("html/parts.html").module.prose(said))


def _parsed(*files) -> Page:
    return Page(page(*files))


@pytest.mark.parametrize("kind", MADE)
def test_every_part_closes_and_every_link_leads_somewhere(kind):
    made = _parsed(MADE[kind]())
    assert len(made.ids) == len(set(made.ids))
    for tag, given in made.elements:
        for name in ("href", "aria-labelledby", "aria-describedby"):
            for target in (given.get(name) or "").split():
                assert target.removeprefix("#") in made.ids, f"{tag} points to {target}"
        if "href" in given:
            assert given["href"].startswith("#")


@pytest.mark.parametrize("kind", MADE)
def test_it_asks_for_nothing_outside_of_itself(kind):
    text = page(MADE[kind]())
    assert "http:" not in text
    assert "https:" not in text
    assert "//" not in re.sub(r"^\s*//.*|\s// .*", "", text, flags=re.M)
    assert "@import" not in text
    assert "url(" not in text
    assert not [given for tag, given in Page(text).elements if "src" in given or tag == "link"]


@pytest.mark.parametrize("kind", MADE)
def test_it_says_all_that_the_report_says(kind):
    file = MADE[kind]()
    told = _parsed(file).text
    causes = causes_of(file)
    verdict, _ = telling.verdict(file, [cause for cause in causes if cause.counts])
    assert verdict[1:] in told
    for cause in causes:
        for group in cause.groups:
            assert _bare(str(telling.describe(group))) in _bare(told)
            assert telling.rule(group.worst) in told
        for sentence in (*telling.steps(cause), *(said for _, said in telling.other_ways(cause))):
            assert _bare(str(sentence)) in _bare(told)
        assert _bare(str(cause.probably or "")) in _bare(told)
    for skipped in telling.skipped(file.skipped, every=True):
        assert _bare(str(skipped)) in _bare(told)
    for caution in CAUTIONS:
        assert caution in told
    for check, measure in telling.in_force(file):
        assert _bare(f"{check}{measure}") in _bare(told)


def _bare(text: str) -> str:
    """Without spaces, and without the inches that stand beside millimetres."""
    inches = r"(?:under )?(?:\d+ )?(?:\d+/\d+|\d+) in"
    text = re.sub(rf" mm(?: \({inches}\)|{inches}(?: to {inches})?)", " mm", text)
    return re.sub(r"\s", "", text)


@pytest.mark.parametrize("kind", ["curves", "apparel", "cad"])
def test_what_was_found_is_drawn_and_marked_where_it_lies(kind):
    file = MADE[kind]()
    made = _parsed(file)
    seams = {f.seam for f in file.findings if f.seam and f.unit != "degrees"}
    figures = [given for tag, given in made.elements if tag == "figure"]
    assert len([given for given in figures if (given["class"] or "").split() == ["drawing", "seam"]]) >= len(seams)
    marks = [given for tag, given in made.elements if tag == "g" and "mark" in (given.get("class") or "").split()]
    grades = {k: grade for k, (_, grade) in enumerate(_in_order(file), 1)}
    assert {given["class"] for given in marks} == {
        f"mark grade-{grades[int(given['data-finding'])]}" for given in marks
    }
    placed = {k for k, (group, _) in enumerate(_in_order(file), 1) if group.worst.at is not None}
    assert {int(given["data-finding"]) for given in marks} == placed
    # Each mark stands in a link to its finding.
    links = [given for tag, given in made.elements if tag == "a" and "data-finding" in given]
    assert [f"file-1-finding-{given['data-finding']}" for given in links] == [given["href"][1:] for given in links]
    assert len(links) == len(marks)


def _in_order(file: FileResult):
    """The groups of every cause, the head first, each with how grave the page calls it."""
    for cause in causes_of(file):
        if cause.counts:
            yield cause.head, cause.severity.value
            yield from ((sign, sign.severity.value) for sign in cause.signs)


def test_numbers_run_through_what_a_broken_size_brings_with_it(judged, finding):
    sizes = ("36", "38", "40", "42")
    broken = [
        finding(
            check="size-run", code="jump", size="40", seam=None, pieces=("back",), edges=("back.hem",), measured=9.0
        ),
        *(finding(size="40", seam=name, pieces=("back", "front"), measured=-4.0) for name in ("inseam", "outseam")),
    ]
    file = judged(*broken, sizes=sizes)
    made = Page(render(Report(files=(file,)), RenderOptions()))
    numbers = [
        given["data-finding"] for tag, given in made.elements if tag in ("article", "li") and "data-finding" in given
    ]
    assert numbers == ["1", "2", "3"]
    assert "2 more signs of it" in made.text
    assert "What was found in which size" in made.text
    assert "nothing in the other 3" in made.text


def test_several_files_begin_with_an_index(judged, finding):
    files = (
        judged(finding()),
        judged(path="sound.svg"),
        FileResult(path="lost.svg", failures=(Failure("it is empty", "lost.svg"),)),
    )
    text = render(Report(files=files), RenderOptions())
    made = Page(text)
    assert next(given["id"] for tag, given in made.elements if tag == "section") == "index"
    index = text[text.index('id="index"') : text.index("</section>")]
    for k, file in enumerate(files, 1):
        assert f'href="#file-{k}"' in index
        assert file.path in index
    assert "3 files: 1 with something to put right, 1 not judged or not whole (lost.svg)." in made.text
    assert "could not be judged" in index
    assert "nothing to put right" in index
    assert [tag for tag, _ in made.elements].count("h1") == 1


def test_a_file_that_cannot_be_judged_says_so_first():
    failure = SeamcheckError("it is empty", path="lost.svg", remedy="save it again").failure
    made = Page(render(Report(files=(FileResult(path="lost.svg", failures=(failure,)),)), RenderOptions()))
    assert "Could not be judged" in made.text
    assert "Not judged: it is empty; save it again" in made.text
    assert CAUTIONS[0] not in made.text
    links = [given["href"] for tag, given in made.elements if tag == "a"]
    assert links
    assert {link.removeprefix("#") for link in links} <= set(made.ids)


def test_without_geometry_all_is_told_and_nothing_drawn(judged, finding):
    made = Page(render(Report(files=(judged(finding()),)), RenderOptions()))
    assert "figure" not in [tag for tag, _ in made.elements]
    assert "The back is 6.4 mm (1/4 in) shorter than the front" in made.text
    assert "1043 mm" in made.text
    assert "Angles add to" in made.text


def test_accepted_findings_are_told_with_their_reason(judged, finding):
    made = Page(render(Report(files=(judged(finding(accepted="it is stretched on")),)), RenderOptions()))
    assert "Nothing to put right" in made.text
    assert "Because: it is stretched on." in made.text


def test_names_cannot_break_out_of_the_page(judged, finding):
    evil = '</script><script>alert("1")</script>{{title}}&\x1b[31m'
    file = judged(
        finding(message=evil, advice=evil, seam=evil, pieces=(evil,), edges=(f"{evil}.a",), accepted=evil),
        finding(message=evil, seam=None, pieces=(evil,), edges=(), severity=Severity.NOTE),
        pattern=evil,
        path=evil,
        pieces=(evil,),
    )
    text = render(Report(files=(file,)), RenderOptions())
    made = Page(text)
    assert [tag for tag, _ in made.elements].count("script") == 1
    assert "{{title}}&" in made.text
    assert "\x1b" not in text
    several = Page(render(Report(files=(file, replace(file))), RenderOptions()))
    assert [tag for tag, _ in several.elements].count("script") == 1


@pytest.mark.parametrize(
    ("said", "shown"),
    [
        (phrase("{it} short", it=Length(6.4)), ["6.4 mm", "1/4 in"]),
        (phrase("{it} off", it=Length(0.5)), ["0.50 mm", "1/32 in"]),
        (phrase("{it} from", it=Length(383.0)), ["383 mm", "15 1/16 in"]),
        (phrase("the notch {it} from", it=PlainLength(434.0, 0)), ["434 mm", "17 1/16 in"]),
        (phrase("{a} to {b}", a=Length(85.0), b=Length(400.0)), ["85.0 mm", "3 3/8 in", "400 mm", "15 3/4 in"]),
        (Listed((Length(6.4), phrase("or {it}", it=Length(12.7)))), ["6.4 mm", "1/4 in", "12.7 mm", "1/2 in"]),
        # What is rounded for one unit is not turned into the other: 10.3 mm are 3/8 in, 434 mm are 17 1/16 in.
        (phrase("{it} short", it=Length(10.34)), ["10.3 mm", "7/16 in"]),
        (phrase("{it} from", it=PlainLength(434.4, 0)), ["434 mm", "17 1/8 in"]),
        # Words are words, whatever stands in them.
        ("notch 40mm.svg, 3 mm, and 3.5 degrees", []),
        (phrase("{it} is no length", it=Name("dart 12 mm")), []),
    ],
)
def test_every_length_is_there_in_both_units_each_reckoned_from_the_length_itself(said, shown):
    assert re.findall(r'class="units-(?:mm|inch[^"]*)">([^<]*)<', prose(said)) == shown
    assert re.sub(r"<[^>]*>", "", prose(said)).startswith(str(said)[:4])


def test_names_in_what_is_said_are_escaped():
    assert prose(phrase("<{it}>", it=Name("<b>"))) == "&lt;&lt;b&gt;&gt;"


def test_the_same_report_gives_the_same_bytes_whatever_the_hash_seed(tmp_path):
    pattern, plan = DEMO / "altered" / "prominent-calf-left.svg", DEMO / "ferryhand.seams.toml"
    out = tmp_path / "report.html"
    command = ["check", str(pattern), "--plan", str(plan), "--format", "html", "--output", str(out)]
    done = subprocess.run(
        [sys.executable, "-m", "seamcheck", *command],
        env={**os.environ, "PYTHONHASHSEED": "1"},
        capture_output=True,
        check=False,
    )
    assert done.returncode == 1, done.stderr
    assert out.read_text(encoding="utf-8") == page(altered("prominent-calf"))


def test_only_formats_that_draw_ask_for_the_geometry():
    assert REPORT.name == "html"
    assert REPORT.geometry


@pytest.mark.parametrize("mm", [0.3, 0.8, 1.6, 2.4, 6.35, 99.97, 1043.21])
def test_an_amount_is_rounded_alike_in_a_sentence_a_table_and_a_drawing(mm):
    sentence = str(Phrase("{it}", (("it", Length(mm)),)))
    (both,) = html_amounts.length(mm)
    assert f"{both.mm} ({both.inches})" == sentence
    assert figure_words(figure_length(mm)) == sentence


def test_of_several_files_the_worst_comes_first(judged, finding):
    files = (
        judged(path="sound.svg"),
        judged(finding(measured=-6.0), path="near.svg"),
        judged(finding(measured=-12.0), path="far.svg"),
        judged(finding(severity=Severity.NOTE, measured=-40.0), path="small.svg"),
        FileResult(path="lost.svg", failures=(Failure("it is empty", "lost.svg"),)),
    )
    text = render(Report(files=files), RenderOptions())
    index = text[text.index('id="index"') : text.index("</section>")]
    assert re.findall(r"<bdi>(\w+)", index) == ["lost", "far", "near", "small", "sound"]
    assert re.findall(r'class="file" id="file-(\d)"', text) == ["5", "3", "2", "4", "1"]


def test_with_an_earlier_file_the_old_line_of_an_altered_piece_is_drawn():
    def earlier(before: Path | None) -> list[str]:
        pattern, plan = DEMO / "altered" / "low-seat-left.svg", DEMO / "ferryhand.seams.toml"
        return re.findall(r'<path class="earlier"', page(judging.judged(pattern, plan=plan, before=before)))

    assert len(earlier(DEMO / "ferryhand.svg")) == 1
    assert earlier(None) == []
