"""The Markdown summary: what it holds, that nothing in a name is markup, and that it fits a comment."""

import re
from dataclasses import replace

import pytest

from seamcheck.engine.causes import causes_of
from seamcheck.engine.report_format import RenderOptions
from seamcheck.engine.result import FileResult, Report
from seamcheck.errors import Failure
from seamcheck.pattern.drawing import Place
from seamcheck.report.markdown import LIMIT, render, text


def told(*files: FileResult) -> str:
    return render(Report(files=files), RenderOptions())


def rows(markdown: str) -> list[list[str]]:
    """The cells of all rows that tell a finding."""
    lines = [line for line in markdown.splitlines() if re.match(r"\| \S+ (error|warning|note) ", line)]
    return [re.split(r"(?<!\\)\|", line)[1:-1] for line in lines]


def test_the_verdict_comes_first_then_a_table_then_details_folded_away(judged, finding):
    markdown = told(judged(finding(place=Place("line 26", 26))))
    assert markdown.startswith(
        "### ❌ ferryhand.svg: 1 thing to put right; 1 of 1 seam judged, every edge sewn, free or a fold\n"
    )
    ((kind, where, what),) = rows(markdown)
    assert kind.split() == ["❌", "error"]
    assert where == " seam outseam, front.outseam and back.outseam<br>line 26 "
    assert "6.4 mm (1/4 in) shorter" in what
    assert "`seam-length/short`" in what
    for title in ("What to do", "What was looked at", "Skipped", "Of the file"):
        assert f"<details><summary>{title}</summary>\n\n" in markdown
    assert markdown.count("<details>") == markdown.count("</details>")
    assert "16 CFR 1615" in markdown


def test_a_sound_pattern_has_no_table_and_says_what_was_looked_at(judged):
    markdown = told(judged())
    assert markdown.startswith(
        "### ✅ ferryhand.svg: nothing to put right; 1 of 1 seam judged, every edge sewn, free or a fold\n"
    )
    assert rows(markdown) == []
    assert "2 pieces (back, front); 1 seam (outseam)" in markdown


def test_accepted_findings_are_folded_away_with_the_reason(judged, finding):
    markdown = told(judged(finding(accepted="it is stretched on")))
    assert rows(markdown) == []
    assert "<summary>Accepted</summary>" in markdown
    assert "Because: it is stretched on." in markdown


def test_several_files_have_their_sum_and_what_could_not_be_judged_is_told(judged, finding):
    markdown = told(
        judged(finding()), FileResult(path="gone.svg", failures=(Failure("there is no such file", "gone.svg"),))
    )
    assert markdown.startswith("## seamcheck: 2 files: 1 with something to put right, 1 not judged or not whole")
    assert "### ❌ gone.svg: could not be judged\n" in markdown
    assert "- **Not judged:** there is no such file" in markdown


@pytest.mark.parametrize(
    ("sentence", "escaped"),
    [
        ("a|b", r"a\|b"),
        ("<b>&", "&lt;b&gt;&amp;"),
        ("*a* _b_ `c` #1", r"\*a\* \_b\_ \`c\` \#1"),
        ("[x](y) ~~z~~", r"\[x\](y) \~\~z\~\~"),
        ("ask @somebody", "ask &#64;somebody"),
        ("two\nlines\x07", "two lines\ufffd"),
        ("6.4 mm (1/4 in)", "6.4 mm (1/4 in)"),
    ],
)
def test_a_sentence_is_shown_as_it_stands(sentence, escaped):
    assert text(sentence) == escaped


def test_a_name_breaks_no_table(judged, finding):
    markdown = told(judged(finding(message="a|b\n<table>", seam=None, edges=("x|y",))))
    ((_, where, what),) = rows(markdown)
    assert r"x\|y" in where
    assert r"a\|b &lt;table&gt;" in what


def test_what_does_not_fit_is_left_out_whole_and_counted(judged, finding):
    files = [
        judged(*(finding(seam=f"seam {k}", message="m" * 300) for k in range(12)), path=f"style-{n}.svg")
        for n in range(40)
    ]
    markdown = told(*files)
    assert len(markdown) <= LIMIT
    assert markdown.count("### ❌ style-") == 40
    assert markdown.count("<details>") == markdown.count("</details>")
    shown = markdown.count("|---|---|---|")
    assert 0 < shown < 40
    assert len(rows(markdown)) == 12 * shown
    assert f"the findings of {40 - shown} files" in markdown
    thousands = told(*(replace(judged(), path=f"style-{k}.svg") for k in range(2000)))
    assert len(thousands) <= LIMIT
    assert re.search(r"_Not shown, for want of room: \d+ files", thousands)


def test_a_real_run_is_told_whole(run_of_all_kinds):
    markdown = render(run_of_all_kinds, RenderOptions())
    assert len(markdown) <= LIMIT
    assert "Not shown" not in markdown
    assert all(f"{text(file.path)}: " in markdown for file in run_of_all_kinds.files)
    open_causes = [one for file in run_of_all_kinds.files for one in causes_of(file) if one.accepted is None]
    assert len(rows(markdown)) == len(open_causes) > 0
