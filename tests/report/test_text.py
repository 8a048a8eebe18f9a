import dataclasses
import re

import pytest

from seamcheck.amounts import Length, Name, phrase
from seamcheck.checks.base import Severity
from seamcheck.engine.report_format import RenderOptions
from seamcheck.engine.result import FileResult, InForce, Report, Skipped
from seamcheck.errors import Failure
from seamcheck.report.cautions import CAUTIONS, SHORT
from seamcheck.report.layout import wrap
from seamcheck.report.text import render

WIDE = RenderOptions(width=100)
VERBOSE = RenderOptions(width=100, verbose=True)


def told(*files: FileResult, options: RenderOptions = WIDE) -> str:
    return render(Report(files=files), options)


def flat(text: str) -> str:
    """Paragraphs as one line each."""
    return re.sub(r"\n +", " ", text)


def test_the_verdict_comes_first(judged, finding):
    file = judged(finding(), finding(seam="inseam", severity=Severity.WARNING), finding(seam="waist"))
    assert told(file).startswith(
        "ferryhand.svg: 3 things to put right; 1 of 1 seam judged, every edge sewn, free or a fold\n"
    )


def test_notes_are_counted_apart(judged, finding):
    file = judged(finding(), finding(seam="inseam", severity=Severity.NOTE))
    assert told(file).startswith(
        "ferryhand.svg: 1 thing to put right and 1 small thing to look at; 1 of 1 seam judged"
    )


def test_success_is_short_and_says_what_was_looked_at(judged):
    lines = flat(told(judged())).splitlines()
    assert lines[0] == ("ferryhand.svg: nothing to put right; 1 of 1 seam judged, every edge sewn, free or a fold")
    assert "Looked at: 2 pieces; 1 seam; 1 junction; 1 size; 2 checks; by the plan ferryhand.seams.toml." in lines
    assert (
        "Looked at: 2 pieces (back, front); 1 seam (outseam); 1 junction; 1 size (M); 2 checks; "
        "by the plan ferryhand.seams.toml." in flat(told(judged(), options=VERBOSE))
    )


def test_what_was_left_out_is_a_line_and_told_whole_where_it_is_asked_for(judged):
    places = (
        Skipped(check="seam-length", size="M", seam=seam, why=phrase("its edge is lost")) for seam in ("a", "b")
    )
    whole = Skipped(check="ease", size="M", why=phrase("the plan gives no seam ease"))
    file = judged(skipped=(whole, *places), checks=("ease", "seam-length", "seam-span"))
    said = "Left out: 1 check with nothing to judge by, seam-length at 2 places; --verbose tells which and why."
    assert said in flat(told(file))
    assert "the plan gives no seam ease" not in told(file)
    verbose = flat(told(file, options=VERBOSE))
    assert "Skipped: ease: the plan gives no seam ease seam-length (seams a, b): its edge is lost" in verbose
    assert "Left out" not in verbose
    assert "Left out" not in told(judged(skipped=()))


def test_the_cautions_are_a_line_and_told_whole_where_they_are_asked_for(judged):
    assert " ".join(told(judged()).split()).endswith(SHORT)
    verbose = " ".join(told(judged(), options=VERBOSE).split())
    assert SHORT not in verbose
    assert all(caution in verbose for caution in CAUTIONS)


def test_success_without_a_seam_does_not_pass_for_a_trued_pattern(judged):
    text = told(judged(seams=(), junctions=()))
    assert text.startswith("ferryhand.svg: nothing to put right; 0 of 1 seam judged")
    assert "no seam;" in text


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({}, "1 of 1 seam judged, every edge sewn, free or a fold"),
        ({"planned": ("outseam", "inseam")}, "1 of 2 seams judged, every edge sewn, free or a fold"),
        ({"open_edges": ("back.hem",)}, "1 of 1 seam judged, 1 edge not looked at"),
        ({"sizes": ("S", "M")}, "0 of 1 seam judged, every edge sewn, free or a fold"),  # walked in one size of two
        (
            {"plan": None, "open_edges": ("back.hem", "front.hem")},
            "1 seam judged, 2 edges not looked at: say which seams they are (seamcheck pair)",
        ),
    ],
)
def test_the_verdict_says_how_much_was_looked_at(judged, changes, said):
    text = flat(told(dataclasses.replace(judged(), **changes)))
    assert text.startswith(f"ferryhand.svg: nothing to put right; {said}\n")


def test_what_nobody_asked_for_is_told_as_skipped_only_where_all_is_told(judged):
    skipped = (Skipped(check="corner-blend", size="M", reason="not-asked", why=phrase("not asked for")),)
    assert "skipped" not in told(judged(skipped=skipped)).casefold()
    assert "corner-blend: not asked for" in told(judged(skipped=skipped), options=VERBOSE)


def test_the_verdict_says_what_is_laxer_than_usual(judged):
    rows = (
        *(dataclasses.replace(row, usual=1.6) for row in ROWS[:2]),
        dataclasses.replace(ROWS[2], tolerance=3.0, tolerance_from="shop.toml", usual=3.5),  # stricter
        dataclasses.replace(ROWS[3], usual_severity="warning"),
    )
    text = flat(told(judged(in_force=rows)))
    assert text.startswith(
        "ferryhand.svg: nothing to put right; 1 of 1 seam judged, every edge sewn, free or a fold; tolerance raised by "
        "shop.toml: seam-length to 3.2 mm (1/8 in); tolerance raised by p.seams.toml: seam-length to 4.0 mm (3/16 in) "
        "at seam side; corner-blend/jog turned off by shop.toml\n"
    )
    assert not {"raised", "turned"} & set(told(judged()).split())


def test_one_finding_is_one_paragraph_with_what_to_do(judged, finding):
    text = flat(told(judged(finding())))
    assert (
        "Error, seam outseam, front.outseam and back.outseam: The back is 6.4 mm (1/4 in) shorter than the front. "
        "[seam-length/short] Do: lengthen the back below the knee. Where: in the drawing at x 12.0, y 34.0 mm.\n"
        in text
    )


def test_edges_that_the_message_names_are_not_named_twice(judged, finding):
    short = phrase(
        "{short} is {amount} too short for {other}",
        short=Name("back.outseam"),
        amount=Length(6.35),
        other=Name("front.outseam"),
    )
    text = flat(told(judged(finding(message=short))))
    assert "Error, seam outseam: back.outseam is" in text
    assert "Error: back.waist dips" in flat(
        told(
            judged(finding(seam=None, edges=("back.waist",), message=phrase("{edge} dips", edge=Name("back.waist"))))
        )
    )


def test_the_worst_stands_first(judged, finding):
    file = judged(
        finding(seam="note", severity=Severity.NOTE, measured=-1.0),
        finding(seam="warning", severity=Severity.WARNING, measured=-3.0),
        finding(seam="error", measured=-4.0),
        finding(seam="angle", measured=20.0, unit="degrees", tolerance=3.5),
        finding(seam="open", measured=None, unit=None, tolerance=None),
    )
    assert re.findall(r"^\w+, seam (\w+)", told(file), re.MULTILINE) == ["open", "angle", "error", "warning", "note"]


def test_the_same_finding_in_several_sizes_is_folded(judged, finding):
    file = judged(
        finding(size="S", measured=-1.2, severity=Severity.NOTE, message=phrase("{it} short", it=Length(1.2))),
        finding(size="M", measured=-6.35, message=phrase("{it} short", it=Length(6.35))),
        finding(size="L", measured=-9.5, message=phrase("{it} short", it=Length(9.5))),
        sizes=("S", "M", "L"),
    )
    text = flat(told(file))
    assert text.startswith("ferryhand.svg: 1 thing to put right; 1 of 1 seam judged")
    assert (
        "all 3 sizes: 9.5 mm (3/8 in) short. So in size L; from 1.2 mm (1/16 in) in size S to 9.5 mm (3/8 in) in size L."
        in text
    )


def test_sizes_that_say_the_same_are_only_listed(judged, finding):
    text = flat(told(judged(finding(size="S"), finding(size="M"), sizes=("S", "M", "L"))))
    assert "front.outseam and back.outseam, sizes S and M: The back is" in text
    assert "So in size" not in text


def test_accepted_findings_are_told_with_their_reason_and_do_not_count(judged, finding):
    text = flat(told(judged(finding(accepted="stretched on with the iron"))))
    assert text.startswith("ferryhand.svg: nothing to put right; 1 of 1 seam judged")
    assert "Accepted, seam outseam, front.outseam and back.outseam: The back is 6.4 mm" in text
    assert "Because: stretched on with the iron." in text


def test_skipped_checks_are_folded_by_reason(judged):
    text = flat(told(judged(sizes=("S", "M")), options=VERBOSE))
    assert text.count("grain-turned") == 1
    assert "Skipped: grain-turned (back, front): no earlier file to compare with" in text


def test_a_house_rule_is_told_with_its_plugin(judged, finding):
    assert "[loop-count/few, a rule of our_rules]" in told(
        judged(finding(check="loop-count", code="few", plugin="our_rules"))
    )


def test_a_file_that_failed_is_told_with_the_others_and_cautions_stand_once(judged):
    text = told(
        FileResult(path="gone.svg", failures=(Failure("there is no such file", "gone.svg"),)), judged(), judged()
    )
    assert text.startswith("gone.svg: could not be judged\n\nNot judged: there is no such file\n")
    assert text.count("ferryhand.svg: nothing to put right") == 2
    assert text.count("cheap cloth first") == 1


def test_a_file_judged_in_part_does_not_look_good(judged):
    file = judged(failures=(Failure("the check seam-span crashed", "ferryhand.svg"),))
    assert told(file).startswith("ferryhand.svg: nothing to put right; 1 of 1 seam judged")


def test_the_cautions_name_the_standards_and_come_last(judged, finding):
    # Children's sleepwear: US Code of Federal Regulations title 16, parts 1615 and 1616; drawstrings: ASTM F1816.
    cautions = told(judged(finding()), options=VERBOSE).rpartition("\n\n")[2]
    for standard in ("16 CFR 1615 and 1616", "EN 14878", "EN 14682", "ASTM F1816"):
        assert standard in " ".join(cautions.split())


def test_seams_that_were_guessed_are_said_to_be(judged, seam):
    file = judged(plan=None, seams=(seam(inferred=True, confidence=0.8), seam(name="inseam")))
    assert "2 seams, 1 of them guessed for want of a plan;" in flat(told(file))


@pytest.mark.parametrize("width", [40, 80, 120, 500])
def test_lines_keep_to_the_width_and_to_what_is_readable(judged, finding, width):
    longest = max(map(len, told(judged(finding()), options=RenderOptions(width=width)).splitlines()))
    assert longest <= max(30, min(width, 120))


@pytest.mark.parametrize("width", [40, 60, 80, 120])
def test_a_verdict_and_a_seam_keep_to_the_width_too(judged, seam, width):
    file = judged(
        path="styles/ferryhand trousers/ferryhand.svg", seams=(seam(name="side of the front and the back"),)
    )
    lines = told(file, options=RenderOptions(width=width, verbose=True)).splitlines()
    assert max(map(len, lines)) <= width
    text = " ".join(" ".join(lines).split())
    assert "styles/ferryhand trousers/ferryhand.svg: nothing to put right" in text
    assert ("1043 and 1043, difference 0.01, allowed 0.00" in text) == (width < 80)


def test_corners_that_are_skipped_for_one_reason_are_told_once(judged):
    pointed = phrase("it is meant to be pointed ({why})", why="a corner of the cover")
    junctions = (("back.tip",), ("back.low", "flap.left", "strip.right"), ("front.tip", "strip.top"))
    skipped = tuple(Skipped(check="corner-blend", size="M", why=pointed, corners=corners) for corners in junctions)
    assert skipped[1].message == f"back.low, flap.left and strip.right: {pointed}"
    none = Skipped(check="ease", size="M", why=phrase("front.tip: write one"))
    text = flat(told(judged(skipped=(*skipped, none)), options=VERBOSE))
    assert (
        "corner-blend (back.tip; back.low, flap.left and strip.right; front.tip and strip.top): it is meant to be pointed (a corner "
        "of the cover)" in text.replace("\n ", "")
    )
    assert "ease: front.tip: write one" in text  # words that look like a corner are none


def test_what_several_files_skip_alike_is_told_once(judged, finding):
    alone = Skipped(check="ease", size="M", why=phrase("the plan gives no seam ease"))
    files = (judged(), judged(finding(), path="other.svg", skipped=(*judged().skipped, alone)))
    text = told(*files, options=VERBOSE)
    assert text.count("no earlier file to compare with") == 1
    assert "Skipped in every file:\n  grain-turned (back, front): no earlier file to compare with\n" in text
    assert "Skipped:\n  ease: the plan gives no seam ease\n" in text
    unjudged = FileResult(path="gone.svg", failures=(Failure("gone", "gone.svg"),))
    assert "in every file" not in told(judged(), unjudged, options=VERBOSE)


def test_an_amount_is_never_broken_over_two_lines(judged, finding):
    file = judged(finding())
    for width in range(40, 101):
        assert not re.search(r"\d\n +(mm|in)\b", told(file, options=RenderOptions(width=width)))


def test_colour_adds_nothing_but_colour(judged, finding):
    file = judged(finding(), finding(seam="inseam", severity=Severity.WARNING))
    coloured = told(file, options=RenderOptions(width=100, colour=True))
    assert "\x1b[" in coloured
    assert re.sub(r"\x1b\[[\d;]*m", "", coloured) == told(file)
    assert "\x1b" not in told(file)


def test_names_in_a_file_cannot_steer_the_terminal(judged, finding):
    file = judged(finding(message="\x1b[2Jgone", edges=("\x07bell",)), pieces=("\x9b31mred",), path="\x1b]0;x.svg")
    assert not re.search(r"[\x00-\x09\x0b-\x1f\x7f-\x9f]", told(file))


def test_long_lists_of_names_give_way_to_their_number(judged):
    assert "13 pieces;" in told(judged(pieces=tuple(f"panel{number}" for number in range(13))))


SKIPS = {"size": "M", "why": phrase("the piece has no grain arrow")}


def test_checks_that_skip_the_same_for_one_reason_are_told_together(judged):
    skipped = tuple(
        Skipped(check=check, piece=piece, **SKIPS)
        for check in ("grain-inside", "grain-straight")
        for piece in ("back", "front")
    )
    text = flat(told(judged(skipped=skipped), options=VERBOSE))
    assert "Skipped: grain-inside and grain-straight (back, front): the piece has no grain arrow" in text


def test_what_is_told_of_the_file_is_no_finding(judged):
    text = told(judged())
    assert text.startswith("ferryhand.svg: nothing to put right; 1 of 1 seam judged")
    assert "Of the file:\n  there is no test square in the file" in text


def test_several_files_are_summed_up(judged, finding):
    gone = FileResult(path="gone.svg", failures=(Failure("there is no such file", "gone.svg"),))
    files = (
        judged(path="a.svg"),
        judged(finding(), path="b.svg"),
        judged(finding(severity=Severity.NOTE), path="c.svg"),
        gone,
    )
    text = told(*files, options=RenderOptions(width=120))
    assert (
        "\n4 files: 1 with something to put right, 1 not judged or not whole (gone.svg).\n"
        "  gone.svg: could not be judged\n"
        "  b.svg: 1 thing to put right; 1 of 1 seam judged, every edge sewn, free or a fold\n\n"
    ) in text
    assert "files:" not in told(judged(finding()))


def test_of_several_files_the_worst_comes_first_and_a_good_one_is_a_line(judged, finding):
    files = (
        judged(path="good.svg"),
        judged(finding(severity=Severity.NOTE), path="note.svg"),
        judged(finding(severity=Severity.ERROR), path="second.svg"),
        judged(finding(), path="third.svg"),
        judged(path="partly.svg", failures=(Failure("a check crashed", "partly.svg"),)),
        judged(path="other.svg"),
    )
    text = told(*files)
    begun = [line.partition(":")[0] for line in text.splitlines() if re.match(r"[a-z]+\.svg: ", line)]
    assert begun == ["partly.svg", "second.svg", "third.svg", "note.svg", "good.svg", "other.svg"]
    assert text.count("Looked at:") == 4
    assert told(*files, options=VERBOSE).count("Looked at:") == 6


def test_quiet_names_what_is_not_good_and_nothing_else(judged, finding):
    quiet = RenderOptions(width=120, quiet=True)
    assert told(judged(), options=quiet) == ""
    assert told(judged(finding(severity=Severity.NOTE)), options=quiet) == ""
    bad = judged(finding(), path="bad.svg")
    line = "bad.svg: 1 thing to put right; 1 of 1 seam judged, every edge sewn, free or a fold\n"
    assert told(bad, options=quiet) == line
    assert told(judged(), bad, options=quiet) == line + "2 files: 1 with something to put right.\n"


def test_pieces_that_the_same_holds_for_are_named_once(judged, finding):
    pieces = ("back", "front", "pocket")
    missing = [
        finding(message=message, pieces=(name,), edges=(), seam=None, measured=None)
        for name in pieces
        for message in [phrase("{piece} has no grain arrow.", piece=Name(name))]
    ]
    text = flat(told(judged(*missing, pieces=pieces)))
    assert text.startswith("ferryhand.svg: 1 thing to put right; 1 of 1 seam judged")
    assert "back has no grain arrow. The same holds for front and pocket." in text


def test_a_broken_size_is_told_once_with_what_it_brings(judged, finding):
    sizes = ("36", "38", "40", "42")
    out = finding(
        check="size-run", code="out", size="40", seam=None, message="back is out of the run in size 40.", measured=4.0
    )
    rest = [
        finding(size="40", seam=f"seam{k}", edges=(f"back.e{k}",), message=f"back.e{k} is short") for k in range(9)
    ]
    text = flat(told(judged(out, *rest, sizes=sizes)))
    assert text.startswith("ferryhand.svg: 1 thing to put right; 1 of 1 seam judged")
    assert text.count("With it, seam seam") == 6
    assert "With it: 3 more of seam-length/short; --verbose tells each." in text
    assert told(judged(out, *rest, sizes=sizes), options=VERBOSE).count("With it, seam seam") == 9


@pytest.mark.parametrize(
    ("found", "words"),
    [
        (("30", "32", "34", "36", "38", "40"), "all 6 sizes:"),
        (("30", "32", "34", "38", "40"), "all sizes but 36:"),
        (("30", "32", "34"), "sizes 30 to 34:"),
        (("30", "32", "38"), "sizes 30, 32 and 38:"),
        (("40",), "size 40:"),
    ],
)
def test_sizes_are_named_as_a_person_does(judged, finding, found, words):
    sizes = ("30", "32", "34", "36", "38", "40")
    assert words in flat(told(judged(*(finding(size=size) for size in found), sizes=sizes)))


ROWS = (
    InForce(
        check="seam-length",
        codes=("short", "long"),
        tolerance=3.2,
        unit="mm",
        tolerance_from="shop.toml",
        severity="bands",
        severity_from="default",
    ),
    InForce(
        check="seam-length",
        tolerance=4.0,
        unit="mm",
        tolerance_from="p.seams.toml",
        severity="bands",
        severity_from="default",
        places=("seam side",),
    ),
    InForce(
        check="corner-blend",
        codes=("pointed", "hollow"),
        tolerance=3.5,
        unit="degrees",
        tolerance_from="default",
        severity="bands",
        severity_from="default",
    ),
    InForce(
        check="corner-blend",
        codes=("jog",),
        tolerance=None,
        unit=None,
        tolerance_from="default",
        severity="off",
        severity_from="shop.toml",
    ),
)


def test_verbose_tells_what_is_in_force_and_from_where(judged):
    text = told(judged(in_force=ROWS), options=VERBOSE)
    assert "  seam-length: 3.2 mm (1/8 in) from shop.toml; seam side 4.0 mm (3/16 in) from p.seams.toml\n" in text
    assert "  corner-blend: pointed and hollow 3.5°; jog turned off from shop.toml\n" in text
    assert "In force" not in told(judged(in_force=ROWS))


def test_verbose_tells_what_is_in_force_once_and_again_where_it_changes(judged):
    files = [judged(in_force=ROWS), judged(in_force=ROWS), judged(in_force=ROWS[:1])]
    assert told(*files, options=VERBOSE).count("In force") == 2


def test_verbose_tells_every_seam_in_columns(judged, seam):
    eased = seam(name="cap", difference=20.004, allowed=(18.0, 25.0))
    lines = told(judged(seams=(seam(), eased)), options=VERBOSE).splitlines()
    start = lines.index("Seams in mm:")
    assert lines[start + 1 : start + 4] == [
        "  seam     size  first  second  difference       allowed",
        "  outseam  M      1043    1043        0.01          0.00",
        "  cap      M      1043    1043        20.0  18.0 to 25.0",
    ]


def test_a_letter_that_takes_two_columns_counts_for_two():
    # Unicode Standard Annex 11: letters of Chinese, Japanese and Korean are wide.
    told = wrap("前身頃 " * 20, RenderOptions(width=40))
    assert set(told.split("\n")) == {"前身頃 前身頃 前身頃 前身頃 前身頃"}
    assert wrap("Przód " * 20, RenderOptions(width=40)).split("\n")[0] == "Przód Przód Przód Przód Przód Przód"


def test_several_findings_are_told_at_a_glance_first_the_worst_first(judged, finding):
    found = (
        finding(
            severity=Severity.WARNING,
            seam=None,
            edges=(),
            pieces=("后片",),
            measured=1.53,
            unit="degrees",
            code="bent",
        ),
        finding(),
        finding(severity=Severity.NOTE, seam=None, edges=("back.hem",), measured=None, unit=None, code="bare"),
    )
    lines = told(judged(*found)).split("\n\n")[1].splitlines()
    assert [line.split() for line in lines] == [
        ["error", "seam", "outseam", "6.4", "mm", "(1/4", "in)", "seam-length/short"],
        ["warning", "后片", "1.5°", "seam-length/bent"],
        ["note", "back.hem", "seam-length/bare"],
    ]
    assert lines[0].index("6.4") == lines[1].index("1.5") + 2  # each of the two letters takes two columns
    narrow = told(judged(*found), options=RenderOptions(width=50)).split("\n\n")[1]
    assert "seam-length" not in narrow
    assert "6.4 mm (1/4 in)" in narrow


def test_also_one_thing_has_its_row(judged, finding):
    row, paragraph = told(judged(finding())).split("\n\n")[1:3]
    assert row == "  error  seam outseam  6.4 mm (1/4 in)  seam-length/short"
    assert paragraph.startswith("Error, seam outseam")
