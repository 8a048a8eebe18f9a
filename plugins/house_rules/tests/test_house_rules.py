"""How a plugin is tested: a good pattern, one fault, exactly one finding. Only `seamcheck.testing` is used."""

import re
from dataclasses import replace

import pytest
from seamcheck_house_rules import (
    boots,
    cloth,
    kit_layers,
    notched,
    seamcheck_register_alterations,
    seamcheck_register_checks,
    seamcheck_register_importers,
    seamcheck_register_reports,
    templates,
    ticket,
)

from seamcheck.testing import (
    FAULTS,
    Curve,
    SeamcheckError,
    assert_findings,
    check_draft,
    good_draft,
    judge_pattern,
    read_drawing,
    render_report,
    settings,
)

OPTIONS = '[options.house-rules]\ncloth = 1400\ntemplates = ["back"]\n'


def test_every_part_is_registered():
    for hook, parts in (
        (seamcheck_register_checks, [notched.CHECK, cloth.CHECK, templates.CHECK]),
        (seamcheck_register_importers, [kit_layers.IMPORTER]),
        (seamcheck_register_reports, [ticket.REPORT]),
        (seamcheck_register_alterations, [boots.BOOTS]),
    ):
        registered = []
        hook(registered.append)
        assert registered == parts


def test_a_good_pattern_keeps_to_the_rules():
    checks = [notched.CHECK, cloth.CHECK, templates.CHECK]
    result = check_draft(good_draft(), checks, settings(OPTIONS))
    assert_findings(result)
    assert result.skipped == ()


def test_a_long_seam_without_a_notch_is_found():
    draft = good_draft().with_panel("front", notches=()).with_panel("back", notches=())
    assert_findings(check_draft(draft, [notched.CHECK]), "long-seams-notched/bare seam=side severity=note")


@pytest.mark.parametrize(
    ("width", "finding"),
    [
        (213, None),  # the panels are 212 mm wide
        (210.5, "note"),
        (209, "warning"),
        (200, "error"),
    ],
)
def test_a_piece_is_held_against_the_width_of_the_cloth(width, finding):
    result = check_draft(good_draft(), [cloth.CHECK], settings(f"[options.house-rules]\ncloth = {width}\n"))
    assert_findings(
        result, *(f"fits-cloth/too-wide piece={piece} severity={finding}" for piece in ("front", "back") if finding)
    )


def test_the_width_is_in_the_units_of_the_settings():
    result = check_draft(good_draft(), [cloth.CHECK], settings('units = "in"\n[options.house-rules]\ncloth = 55\n'))
    assert_findings(result)


def test_what_cannot_be_judged_says_so_by_a_code():
    (skipped,) = check_draft(good_draft(), [templates.CHECK]).skipped
    assert skipped.reason == "no-templates"
    draft = good_draft().with_panel("front", grain=None)
    (skipped,) = check_draft(draft, [cloth.CHECK], settings(OPTIONS)).skipped
    assert (skipped.reason, skipped.piece) == ("no-grain", "front")


def test_without_a_width_nothing_is_judged_and_that_is_said():
    (skipped,) = check_draft(good_draft(), [cloth.CHECK]).skipped
    assert skipped.reason == "no-cloth"
    assert skipped.message == "the shop sets no width of cloth under [options.house-rules]"


def test_a_misspelt_option_is_one_sentence():
    result = check_draft(good_draft(), [cloth.CHECK], settings("[options.house-rules]\ncloht = 1400\n"))
    assert result.failures == (
        'seamcheck.toml, line 2: unknown key "cloht" in [options.house-rules]; the nearest known key is "cloth"',
    )


def two_sizes(wider: float):
    """The good pattern as size 40, and as size 42 with the hem of the back let out at the centre by so much."""
    hem = good_draft().panel("back").edge("hem").line
    centre = good_draft().panel("back").edge("centre").line
    graded = good_draft().with_lines(
        "back", hem=Curve.line(hem.start + wider, hem.end), centre=Curve.line(centre.start, centre.end + wider)
    )
    first, second = good_draft().pattern(), graded.pattern()
    renamed = tuple(replace(piece, size="42") for piece in second.pieces)
    return replace(first, sizes=("40", "42"), pieces=(*first.pieces, *renamed))


def test_a_template_that_was_graded_is_found_in_the_size_in_which_it_was():
    pattern = two_sizes(6.0)
    result = judge_pattern(pattern, good_draft().plan, [templates.CHECK], settings(OPTIONS))
    assert_findings(result, "template-fixed/graded piece=back edge=back.hem size=42 severity=error")
    other = judge_pattern(pattern, good_draft().plan, [templates.CHECK], settings(OPTIONS.replace("back", "pocket")))
    assert_findings(other)


def test_a_template_that_stays_is_quiet():
    assert_findings(judge_pattern(two_sizes(0.0), good_draft().plan, [templates.CHECK], settings(OPTIONS)))


def in_kit_layers(number: str = "10") -> bytes:
    """The good drawing without groups, its lines called by the kit room's numbers."""
    text = good_draft().svg()
    for piece in ("front", "back"):
        group = re.search(rf'<g inkscape:label="{piece}">(.*?)</g>', text, re.DOTALL)
        lines = group[1]
        for label, kit in (("sew line", number), ("notch", "20"), ("grain", "30")):
            lines = lines.replace(f'"{label}"', f'"K{kit} {piece}"')
        text = text.replace(group[0], lines)
    return text.encode()


def test_the_kit_rooms_names_are_read():
    pattern = read_drawing(in_kit_layers(), kit_layers.IMPORTER, good_draft().plan)
    assert pattern.format == "kit layers"
    assert_findings(judge_pattern(pattern, good_draft().plan, [notched.CHECK]))
    front = next(piece for piece in pattern.pieces if piece.name == "front")
    assert [len(edge.notches) for edge in front.edges if edge.name == "side"] == [2]
    assert len(front.grainlines) == 1


def test_other_drawings_are_left_to_others():
    with pytest.raises(AssertionError, match="does not recognise"):
        read_drawing(good_draft().svg().encode(), kit_layers.IMPORTER, good_draft().plan)


def test_a_number_that_means_nothing_is_one_sentence():
    with pytest.raises(SeamcheckError) as caught:
        read_drawing(in_kit_layers("90"), kit_layers.IMPORTER, good_draft().plan)
    assert 'the line "K90 front" has the number 90, which means nothing; the numbers are 10, 20, 30, 40' in str(
        caught.value
    )


def test_the_ticket_says_cut_or_wait():
    good = check_draft(good_draft())
    short = check_draft(FAULTS["short-side"].change(good_draft()))
    broken = replace(
        good, path="gone.svg", failures=(SeamcheckError("there is no such file", path="gone.svg").failure,)
    )
    assert render_report(ticket.REPORT, good, short, broken).splitlines() == [
        "CUT         ferryhand-panels.svg: 2 pieces",
        "WAIT        ferryhand-panels.svg: side",
        "NOT JUDGED  gone.svg",
    ]
