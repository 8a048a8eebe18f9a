import pytest

from seamcheck.checks.house_rules import rule_check
from seamcheck.config.settings import Settings, parse_settings
from seamcheck.engine import plugins
from seamcheck.errors import SettingsError
from seamcheck.testing import FAULTS, assert_findings, check_draft, good_draft


@pytest.fixture
def shop(tmp_path):
    def shop(text: str) -> Settings:
        return parse_settings(text, tmp_path / "seamcheck.toml")

    return shop


@pytest.fixture
def judged(shop):
    """What the good draft, or another, gives by these rules alone; its hems are 200 mm and its waists 180 mm."""

    def judged(text: str, draft=None):
        settings = shop(text)
        checks = [rule_check(rule, settings.path) for rule in settings.rules]
        return check_draft(draft or good_draft(), checks, settings)

    return judged


def rule(holds: str, *more: str, name: str = "house-rule") -> str:
    return "\n".join(["[[rules]]", f'name = "{name}"', f"holds = {holds!r}", *more, ""])


@pytest.mark.parametrize(
    ("holds", "finding"),
    [
        ("front.hem = 200 mm", None),
        ("front.hem = back.hem", None),
        ("front.hem = 200.7 mm", None),
        ("front.hem = 201.5 mm", "less piece=front edge=front.hem severity=note"),
        ("front.hem = 7 1/2 in", "more severity=error"),
        ("front.hem >= 203 mm", "less severity=warning"),
        ("front.hem <= 203 mm", None),
        ("front.hem >= 340 mm", "less severity=error"),
        ("hem of front <= 150 mm", "more severity=error"),
        ("2 * (front.hem + back.hem) = 80 cm", None),
        ("front.hem between 190 and 210 mm", None),
        ("front.hem - front.waist between -6 and 0 mm", "more edge=front.hem edge=front.waist severity=error"),
        ("front.hem / front.waist between 1.2 and 1.3", "less severity=warning"),
        ("front.hem / front.waist = 1.111", "more severity=warning"),
        ("angle(front.centre-hem) = 90 degrees", None),
        ("angle(front.centre-hem) = 80 degrees", "more piece=front severity=error"),
        ("distance(front.centre-waist, front.centre-hem) = 400 mm", None),
        ("height(front) = 400 mm", None),
        ("width(front) = 212 mm", None),
        ("width(front) = 220 mm", "less piece=front severity=error"),
        ("notches(front.side) = 2", None),
        ("notches(front.side) >= 3", "less edge=front.side"),
        ("difference(side) = 0", None),
        ("difference(side) between 1 and 9 mm", "less seam=side severity=note"),
        ("max(front.hem, front.waist) = 200 mm", None),
        ("abs(front.waist - front.hem) = 20 mm", None),
    ],
)
def test_a_rule_holds_or_tells_what_it_found(judged, holds, finding):
    assert_findings(judged(rule(holds)), *([f"house-rule/{finding}"] if finding else []))


@pytest.mark.parametrize(
    ("holds", "finding"),
    [
        ("notch(front.side, 1) = 130 mm", None),
        ("notch(front.side, 2) = 300 mm", None),
        ("notch(front.side, 2) - notch(front.side, 1) >= 180 mm", "less piece=front edge=front.side severity=error"),
        ("notch(side of front, 1) <= 128.5 mm", "more edge=front.side severity=note"),
        ("notches(front.side, 0, 1) = 2", None),
        ("notches(front.side, 0, 1/2) = 1", None),
        ("notches(front.side, 1/3, 2/3) >= 1", "less edge=front.side"),
        ("notches(front.side, 0 mm, 130 mm) = 1", None),
        ("notches(front.side, 5 in, 30 cm) = 2", None),
        ("notches(front.side, 131 mm, length(front.side)) = 1", None),
        ("notches(front.hem, 0, 1) = 0", None),
    ],
)
def test_notches_are_found_by_their_stations(judged, holds, finding):
    assert_findings(judged(rule(holds)), *([f"house-rule/{finding}"] if finding else []))


def test_a_notch_that_is_not_there_is_a_missing_name(judged):
    why = "edge front.side has 2 notches, so none is number 3"
    (skipped,) = judged(rule("notch(front.side, 3) = 9 mm")).skipped
    assert (skipped.reason, skipped.message) == ("notch-missing", why)
    (finding,) = judged(rule("notch(front.hem, 1) = 9 mm", 'missing = "error"')).findings
    assert (finding.code, finding.pieces) == ("missing", ("front",))
    assert "edge front.hem has no notch, so none is number 1" in finding.message


@pytest.mark.parametrize(
    ("each", "holds", "more", "findings"),
    [
        ("seam", "notches(seam, 1/3, 2/3) >= 1", ["when = 'length(seam) >= 600 mm'"], []),
        ("seam", "notches(seam, 1/3, 2/3) >= 1", ["when = 'length(seam) >= 400 mm'"], ["less seam=side"]),
        ("seam", "notches(seam, 1/3, 2/3) >= 1", ["matches = ['s*e']"], ["less seam=side"]),
        ("seam", "notches(seam) = 2", [], []),
        ("seam", "notches(seam, 0 mm, 135 mm) = 1", [], []),
        ("seam", "seam <= 40 cm", [], ["more seam=side"]),
        ("seam", "abs(difference(seam)) <= 3 mm", [], []),
        ("piece", "height(piece) <= 390 mm", [], ["more piece=front", "more piece=back"]),
        ("piece", "height(piece) <= 390 mm", ["matches = ['FRO*', 'yoke*']"], ["more piece=front"]),
        ("piece", "piece.hem = hem of piece", [], []),
        (
            "piece",
            "piece.hem <= waist of piece",
            ["matches = 'back'"],
            ["more piece=back edge=back.hem edge=back.waist"],
        ),
        ("piece", "angle(piece.centre-hem) = 90 degrees", [], []),
        ("piece", "angle(piece.centre-hem) = 80 degrees", [], ["more piece=front", "more piece=back"]),
        ("edge", "edge >= 190 mm", [], ["less edge=front.waist", "less edge=back.waist"]),
        ("edge", "notches(edge) >= 1", ["matches = '*.side'"], []),
        ("edge", "notch(edge, 1) >= 90 mm", ["when = 'notches(edge) >= 1'"], []),
        (
            "edge",
            "notch(edge, 1) >= 140 mm",
            ["when = 'notches(edge) >= 1'"],
            ["less edge=front.side", "less edge=back.side"],
        ),
    ],
)
def test_a_rule_may_be_for_each_of_them(judged, each, holds, more, findings):
    text = rule(
        holds,
        f'for-each = "{each}"',
        *(line.replace("'back'", "['back']").replace("'*.side'", "['*.side']") for line in more),
    )
    assert_findings(judged(text), *(f"house-rule/{one}" for one in findings))


def test_what_is_told_of_each_names_it(judged):
    (finding,) = judged(rule("notches(seam, 1/3, 2/3) >= 1", 'for-each = "seam"')).findings
    assert finding.message == "notches(side, 1/3, 2/3) measures 0, 1 less than 1."
    assert finding.advice.endswith("so that this holds: notches(side, 1/3, 2/3) >= 1.")
    assert finding.at is not None
    _, front = judged(rule("hem of piece <= 0.5 * piece.hem", 'for-each = "piece"')).findings
    assert front.message.startswith("hem of front measures 200 mm (7 7/8 in) and 0.5 * front.hem comes to 100 mm")
    first = judged(rule("edge <= 1 mm", 'for-each = "edge"')).findings[0]
    assert first.message.startswith(f"{first.edges[0]} measures ")


def test_a_rule_for_some_names_says_where_none_is_like_them(judged):
    text = rule("height(piece) <= 1 mm", 'for-each = "piece"', 'matches = ["*pocket*"]')
    (skipped,) = judged(text).skipped
    assert skipped.reason == "piece-missing"
    assert skipped.message.startswith('no piece has a name like "*pocket*"; ')
    (finding,) = judged(text + 'missing = "error"\n').findings
    assert finding.code == "missing"


def test_what_cannot_be_measured_of_one_is_skipped_for_that_one(judged):
    result = judged(rule("notch(edge, 1) >= 1 mm", 'for-each = "edge"'))
    assert not result.findings
    assert {one.edge for one in result.skipped} == {
        f"{piece}.{edge}" for piece in ("front", "back") for edge in ("waist", "hem", "centre")
    }
    (none,) = judged(rule("piece.yoke = 1 mm", 'for-each = "piece"', 'matches = ["front"]')).skipped
    assert (none.piece, none.reason) == ("front", "edge-missing")


def test_where_a_rule_holds_may_be_said_of_one_rule_too(judged):
    holds = "front.hem >= 340 mm"
    assert_findings(judged(rule(holds, 'when = "front.waist >= 181 mm"')))
    assert_findings(
        judged(rule(holds, 'when = "front.waist between 100 and 200 mm"')), "house-rule/less severity=error"
    )


def test_the_reason_of_a_rule_is_told_with_the_finding(judged):
    text = rule("front.hem >= 340 mm", 'why = "The crew wears boots on the slip"')
    (finding,) = judged(text).findings
    assert finding.message == (
        "front.hem measures 200 mm (7 7/8 in), 140 mm (5 1/2 in) less than 340 mm. "
        "The rule stands because: The crew wears boots on the slip."
    )
    (own,) = judged(text + 'message = "Too narrow"\n').findings
    assert own.message.startswith("Too narrow. front.hem measures 200 mm")
    assert own.message.endswith("The rule stands because: The crew wears boots on the slip.")


def test_the_message_gives_figures_and_the_rule(judged):
    (fixed,) = judged(rule("front.hem >= 340 mm")).findings
    assert fixed.message == "front.hem measures 200 mm (7 7/8 in), 140 mm (5 1/2 in) less than 340 mm."
    assert fixed.advice.endswith("so that this holds: front.hem >= 340 mm.")
    assert (fixed.measured, fixed.at) == (pytest.approx(-140), pytest.approx(120 + 420j))
    (computed,) = judged(rule("front.waist = back.hem + 1 cm")).findings
    assert computed.message == (
        "front.waist measures 180 mm (7 1/16 in) and back.hem + 1 cm comes to 210 mm (8 1/4 in): "
        "30.0 mm (1 3/16 in) too little."
    )
    (ratio,) = judged(rule("front.hem / front.waist between 1.2 and 1.3")).findings
    assert ratio.message == "front.hem / front.waist measures 1.111, 0.089 less than 1.2."


def test_a_shop_may_say_it_in_its_own_words(judged):
    (finding,) = judged(
        rule(
            "front.hem >= 340 mm",
            'severity = "note"',
            'message = "A boot wants {amount} more"',
            'advice = "Redraw {left}"',
        )
    ).findings
    assert finding.severity == "note"
    assert finding.message == (
        "A boot wants 140 mm (5 1/2 in) more. front.hem measures 200 mm (7 7/8 in), 140 mm (5 1/2 in) less than 340 mm."
    )
    assert finding.advice == "Redraw front.hem."


def test_tolerance_is_in_the_units_of_the_settings(judged):
    assert_findings(judged(rule("front.hem = 205 mm", "tolerance = 10")))
    assert_findings(
        judged('units = "cm"\n' + rule("front.hem = 205 mm", "tolerance = 0.5")), "house-rule/less severity=note"
    )
    assert_findings(judged(rule("front.hem / front.waist = 1.1", "tolerance = 0.02")))


def test_the_table_of_severities_goes_before_the_rule(judged):
    text = '[severity]\nhouse-rule = "off"\n' + rule("front.hem >= 340 mm", 'severity = "error"')
    assert_findings(judged(text))


def test_a_rule_may_hold_for_some_sizes_or_patterns_only(judged):
    (skipped,) = judged(rule("front.hem >= 340 mm", 'sizes = ["38", "XL"]')).skipped
    assert skipped.reason == "size-missing"
    assert skipped.message == "the rule holds in size 38 or XL, which the file does not have"
    assert_findings(judged(rule("front.hem >= 340 mm", 'sizes = ["40"]')), "house-rule/less size=40")
    assert_findings(judged(rule("front.hem >= 340 mm", 'patterns = ["*PANELS*"]')), "house-rule/less")
    other = judged(rule("front.hem >= 340 mm", 'patterns = ["*skirt*"]'))
    assert (other.findings, other.skipped) == ((), ())


@pytest.mark.parametrize(
    ("holds", "code", "why"),
    [
        ("yoke.lower = 3 mm", "piece-missing", 'there is no piece "yoke"; the pieces are "'),
        ("front.hemm = 3 mm", "edge-missing", 'piece front has no edge "hemm"; the nearest edge is "hem"'),
        (
            "angle(front.corner) = 90 degrees",
            "corner-missing",
            'piece front has no corner "corner"; the corners are "centre-waist"',
        ),
        ("difference(sides) = 0", "seam-missing", 'there is no seam "sides"; the nearest seam is "side"'),
        ("intake(front) = 20 mm", "no-dart", "piece front has no dart"),
        ("front.hem / (back.hem - front.hem) = 1", "divides-by-nothing", "measures 0 here"),
    ],
)
def test_what_cannot_be_measured_is_skipped_with_its_reason(judged, holds, code, why):
    result = judged(rule(holds))
    (skipped,) = result.skipped
    assert skipped.reason == code
    assert why in skipped.message
    assert result.failures == ()


@pytest.mark.parametrize(
    ("holds", "pieces", "why"),
    [
        ("frnt.hem = 200 mm", (), 'there is no piece "frnt"; the nearest piece is "front"'),
        ("front.hemm = 200 mm", ("front",), 'piece front has no edge "hemm"; the nearest edge is "hem"'),
        ("front.hem = back.hemm", ("front", "back"), 'piece back has no edge "hemm"; the nearest edge is "hem"'),
        ("angle(front.center-hem) = 90 degrees", ("front",), 'the nearest corner is "centre-hem"'),
        ("difference(sides) = 0", (), 'there is no seam "sides"; the nearest seam is "side"'),
    ],
)
def test_a_shop_may_want_to_be_told_of_a_name_that_is_not_there(judged, holds, pieces, why):
    result = judged(rule(holds, 'severity = "note"', 'missing = "error"'))
    assert (result.skipped, result.failures) == ((), ())
    (finding,) = result.findings
    assert (finding.check, finding.code, finding.severity.value) == ("house-rule", "missing", "error")
    assert finding.pieces == pieces
    assert f'The rule "{holds}" cannot be measured: ' in finding.message
    assert why in finding.message
    assert "seamcheck.toml, line 2" in finding.advice
    (skipped,) = judged(rule(holds, 'missing = "skip"')).skipped
    assert why in skipped.message


@pytest.mark.parametrize("holds", ["intake(front) = 20 mm", "front.hem / (back.hem - front.hem) = 1"])
def test_what_is_there_and_cannot_be_measured_stays_skipped(judged, holds):
    result = judged(rule(holds, 'missing = "error"'))
    assert (len(result.skipped), result.findings) == (1, ())


def test_a_rule_for_other_patterns_misses_nothing(judged):
    text = rule("yoke.lower = 3 mm", 'missing = "error"', 'patterns = ["*skirt*"]')
    assert (judged(text).findings, judged(text).skipped) == ((), ())
    assert_findings(judged(rule("front.hem = 200 mm", 'missing = "error"')))


@pytest.mark.parametrize("table", ['house-rule = "off"', '"house-rule/missing" = "off"'])
def test_a_missing_name_can_be_switched_off_by_the_table_of_severities(judged, table):
    assert_findings(judged(f"[severity]\n{table}\n" + rule("front.hemm = 200 mm", 'missing = "error"')))


def test_missing_is_one_of_two_words(shop):
    with pytest.raises(
        SettingsError, match=r'"missing" .*is "warn", which means nothing here; write "skip" or "error"'
    ):
        shop(rule("front.hem = 200 mm", 'missing = "warn"'))


def test_without_a_grain_arrow_nothing_lies_along_it(judged):
    (skipped,) = judged(rule("height(front) = 400 mm"), FAULTS["no-grain"].change(good_draft())).skipped
    assert skipped.reason == "no-grain"
    assert "no grain arrow" in skipped.message


def test_measures_may_be_named_in_any_order_and_spelling(judged):
    measures = '[measures]\ngirth = "2 * hem.width"\nhem.width = "front.hem + back.hem"\n"waist.width" = "front.waist + back.waist"\n'
    assert_findings(judged(measures + rule("girth - waist.width = 440 mm")))
    (finding,) = judged(measures + rule("girth = 840 mm")).findings
    assert finding.message.startswith("girth measures 800 mm")
    assert finding.edges == ("front.hem", "back.hem")


@pytest.mark.parametrize(
    ("text", "place", "what"),
    [
        ('[[rules]]\nname = "a"\nholds = "front.hem >= 340"\n', "line 3, column 23", "a length and a plain number"),
        ('[[rules]]\nholds = "front.hem = 3 mm"\n', "line 1", 'has no "name"'),
        ('[[rules]]\nname = "A b"\nholds = "front.hem = 3 mm"\n', "line 2", '"A b" is no name for a rule'),
        ('[[rules]]\nname = "a"\n', "line 1", 'has no "holds"'),
        ('[[rules]]\nname = "a"\nhold = "x"\n', "line 3", 'unknown key "hold"'),
        (
            '[[rules]]\nname = "a"\nholds = """\nfront.hem\n  == 3 mm"""\n',
            "line 5, column 3",
            '"==" is no comparison',
        ),
        (
            "[[rules]]\nname = 'a'\nholds   =   '\"front\".hem == 3 mm'\n",
            "line 3, column 26",
            '"==" is no comparison',
        ),
        ('[[rules]]\nname = "a"\nholds = "\\"front\\".hem == 3 mm"\n', "line 3, column 24", '"==" is no comparison'),
        ('[measures]\nhem.width = "front.hem +"\n', "line 2, column 25", "the end of the rule"),
        ('[measures]\na = "b"\nb = "2 * a"\n', "line 3, column 10", '"a" is defined by itself'),
        ('[measures]\nhem.width = "x.a"\n"hem.width" = "x.b"\n', "line 3", "defined twice"),
        ("[measures]\nhem = 3\n", "line 2", "a number where a text"),
        (rule("a.b = 3 mm") + rule("a.b = 3 mm"), "line 5", 'a second rule is called "house-rule"'),
        (rule("a.b = 3 mm", "tolerance = 0"), "line 4", "the tolerance is 0"),
        (rule("a.b = 3 mm", 'severity = "fatal"'), "line 4", '"fatal", which means nothing'),
        (rule("a.b = 3 mm", 'message = "by {much}"'), "line 4", '"{much}", which means nothing'),
        (rule("a.b = 3 mm", 'message = "by {"'), "line 4", "means nothing"),
        (rule("a.b = 3 mm", 'for-each = "saem"'), "line 4", '"saem", which means nothing'),
        (rule("a.b = 3 mm", 'for-each = "seam"'), "line 3", "is for each seam and does not speak of it"),
        (rule("a.b = 3 mm", 'matches = ["x"]'), "line 4", '"matches" has nothing to match'),
        (
            rule("length(seam) = 3 mm", 'for-each = "seam"', 'when = "length(seam)"'),
            "line 5, column 21",
            "compares nothing",
        ),
        (
            rule("length(seam) = 3 mm", 'for-each = "seam"', 'when = "lenght(seam) >= 3 mm"'),
            "line 5, column 9",
            "no function",
        ),
        (rule("notch(a.b, 0) = 3 mm"), "line 3, column 21", "the number of a notch"),
        (rule("a.b = 3 mm", 'message = "{amount.real}"'), "line 4", "means nothing"),
    ],
)
def test_a_mistake_is_one_sentence_with_line_and_column(shop, text, place, what):
    with pytest.raises(SettingsError) as caught:
        shop(text)
    assert what in caught.value.what
    assert str(caught.value.place) == place


def test_measures_that_are_defined_without_end_are_refused(shop):
    chain = "".join(f'm{k} = "m{k + 1} + 1 mm"\n' for k in range(200))
    with pytest.raises(SettingsError, match="too deeply"):
        shop(f'[measures]\n{chain}m200 = "front.hem"\n')


def test_rules_come_in_as_checks_beside_all_others(shop):
    settings = shop(rule("front.hem >= 340 mm", name="hem-wide") + '[tolerances]\n"hem-wide" = 100\n')
    registry = plugins.load(settings, checks_only=True)
    assert registry.plugin_of["hem-wide"] == "seamcheck.toml"
    result = check_draft(good_draft(), settings=settings)
    assert_findings(result, "hem-wide/less severity=warning")
    assert [finding.plugin for finding in result.findings] == ["seamcheck.toml"]
    kept = plugins.load(settings, checks_only=True, plugins=False)
    assert "hem-wide" in [check.name for check in kept.checks]


def test_a_rule_cannot_take_the_name_of_a_check(shop):
    with pytest.raises(
        SettingsError, match='"seam-length" has the name of a check that the plugin "builtin"'
    ) as caught:
        plugins.load(shop(rule("front.hem = 3 mm", name="seam-length")))
    assert str(caught.value.place) == "line 2"
