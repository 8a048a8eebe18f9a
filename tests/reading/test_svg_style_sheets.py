"""Style sheets: what they say of a line, by the rules of CSS (Selectors 4, Cascade 4, Media Queries 4, Syntax 3)."""

import subprocess
import sys

import pytest
from svg_making import SPACES, codes, drawing, only_line, read_bytes, svg

from seamcheck.errors import InputError
from seamcheck.reading.base import Source
from seamcheck.reading.svg.css import _PLAIN, Styles
from seamcheck.reading.svg.sheet import read_declarations
from seamcheck.reading.svg.tree import Node

SQUARE = '<path id="square" d="M10 10h20v20h-20z"/>'


def told(drawn):
    return [note.message for note in drawn.notes if note.code == "css-not-understood"]


def hidden(css, attributes='class="a"', **options):
    """Whether a path is hidden by a sheet."""
    return only_line(f'<style>{css}</style><path id="p" {attributes} d="M0 0H9V9z"/>', **options).hidden


@pytest.mark.parametrize(
    ("selector", "matches"),
    [
        ("*", True),
        ("path", True),
        ("rect", False),
        ("PATH", False),  # names in XML are told apart by the case of their letters
        (".a", True),
        (".A", False),
        (".a.b", True),
        (".a.c", False),
        ("path.a", True),
        ("rect.a", False),
        ("#p", True),
        ("path#p.b", True),
        ("g path", True),
        ("g > path", True),
        ("g>path", True),
        ("svg > path", False),
        ("svg path", True),
        ("g g > path", True),
        (".layer .inner > .a", True),
        (".inner .layer .a", False),
        (".layer > .a", False),
        ("svg .layer > .inner .a", True),
        ("rect, .b", True),
        ("rect + path", True),
        ("rect+path", True),
        ("circle + path", False),
        ("circle ~ path", True),
        ("circle ~ rect + path", True),
        ("path ~ path", False),
        (".layer > circle ~ path", False),
        ("[id=p]", True),
        ("[id=q]", False),
        ('[id="p"]', True),
        ("[data-line]", True),
        ("[data-none]", False),
        ("[data-line^=sew]", True),
        ("[data-line$=line]", True),
        ("[data-line*=' ']", True),
        ("[data-line~=line]", True),
        ("[data-line|=sew]", False),
        ("[data-line='SEW LINE']", False),
        ("[data-line='SEW LINE' i]", True),
        ("[class~=b]", True),
        ("path:not(.c)", True),
        ("path:not(.a)", False),
        (":not(g):not(rect)", True),
        ("path:not(.c, #q)", True),
        ("path:not(.c, #p)", False),
        (":is(g, symbol) > path", True),
        (":where(.a):is(path)", True),
        ("path:last-child", True),
        ("path:first-child", False),
        ("path:nth-child(3)", True),
        ("path:nth-child(2n + 1)", True),
        ("path:first-of-type", True),
        ("path:only-of-type", True),
        ("g:nth-of-type(1) > .a", True),
        (":root path", True),
        ("path:root", False),
        ("path:hover", False),
        ("path::before", False),
        ("path:empty", True),
        (r"#\70", True),  # an escaped p
        (r".\61 .b", True),  # an escaped a, and the blank that ends the escape
        ("/* a */ g/**/ /* b */path", True),
        ("path/**/.a", True),
    ],
)
def test_selectors(selector, matches):
    css = f"<style>/* a {{ comment }} */ {selector.replace('>', '&gt;')} {{ stroke: red; stroke-dasharray: 4 2 }}</style>"
    body = (
        f'{css}<g class="layer"><g class="inner"><circle/><rect/>'
        '<path id="p" class="a b" data-line="sew line" d="M0 0H9"/></g></g>'
    )
    drawn = drawing(body)
    (line,) = drawn.lines
    assert line.dashed == matches
    assert not told(drawn)


def test_names_of_other_vocabularies():
    rule = "@namespace ink url(http://www.inkscape.org/namespaces/inkscape); path[ink|label=old]{display:none}"
    assert hidden(rule, 'inkscape:label="old"')
    assert not hidden(rule, 'label="old"')
    assert hidden("@namespace url(http://www.w3.org/2000/svg); path{display:none}")
    assert not hidden("@namespace url(http://www.w3.org/1999/xhtml); path{display:none}")
    assert hidden("@namespace s 'http://www.w3.org/2000/svg'; s|path{display:none}")


@pytest.mark.parametrize(
    ("css", "attributes", "is_hidden"),
    [
        (".a{display:none} .a{display:inline}", 'class="a"', False),
        (".a{display:none} path{display:inline}", 'class="a"', True),
        ("path[id]{display:none} path{display:inline}", "", True),
        ("path:not(#q){display:none} .a{display:inline}", 'class="a"', True),  # :not() weighs what stands in it
        ("path:where(#p){display:none} path.a{display:inline}", 'class="a"', False),  # :where() weighs nothing
        ("svg path{display:none} path{display:inline}", "", True),
        (".a{display:none}", 'class="a" style="display:inline"', False),
        (".a{display:none!important}", 'class="a" style="display:inline"', True),
        (".a{display:none ! IMPORTANT}", 'class="a" style="display:inline"', True),
        (".a{display:none!important}", 'class="a" style="display:inline!important"', False),
        (".a{display:none!important} #p{display:inline}", 'class="a"', True),
        (".a{display:none!important;display:inline}", 'class="a"', True),
        (".a{display:none!urgent}", 'class="a"', False),
        (".a{display:inline}", 'class="a" display="none"', False),
        (".a{fill:none} #p{fill:inherit}", 'class="a"', False),
        (".a{fill:none} #p{fill:unset}", 'class="a"', False),
        ("svg{fill:none} #p{fill:unset}", "", True),  # what is inherited is inherited when unset
        ("svg{display:inline} #p{display:none} #p{display:revert}", "", False),
        (".a{DISPLAY:None}", 'class="a"', True),
        (r".a{display:n\6fne}", 'class="a"', True),
        (".a{display/**/:/**/none/**/}", 'class="a"', True),
    ],
)
def test_weight_of_rules(css, attributes, is_hidden):
    assert hidden(css, attributes) == is_hidden


def test_sheets_weigh_by_their_order_wherever_they_stand():
    first, second = "<style>.a{display:none}</style>", "<style>.a{display:inline}</style>"
    shape = '<path class="a" d="M0 0H9V9z"/>'
    assert not only_line(f"{shape}<defs>{first}</defs>{second}").hidden
    assert only_line(f"{shape}<defs>{second}</defs>{first}").hidden


@pytest.mark.parametrize(
    ("media", "is_hidden"),
    [
        ("print", True),
        ("all", True),
        ("PRINT", True),
        ("screen", False),
        ("not screen", True),
        ("not print", False),
        ("only print", True),
        ("only screen", False),
        ("screen, print", True),
        ("tv", False),
        ("screen and (min-width: 10cm)", False),
        ("not screen and (min-width: 10cm)", True),
        ("print, (min-width: 10cm)", True),
    ],
)
def test_a_pattern_is_what_its_print_shows(media, is_hidden):
    assert hidden(f"@media {media} {{ .a {{ display: none }} }}") == is_hidden
    line = f'<path class="a" d="M0 0H9V9z"/><style media="{media}">.a {{ display: none }}</style>'
    assert only_line(line).hidden == is_hidden
    assert not told(drawing(line))


@pytest.mark.parametrize(
    "media", ["(min-width: 10cm)", "print and (color)", "not print and (color)", "screen, (color)"]
)
def test_a_condition_on_the_page_has_no_answer_and_is_told(media):
    drawn = drawing(f"<style>\n@media {media} {{ path {{ display: none }} }}</style>{SQUARE}")
    assert not drawn.lines[0].hidden
    assert told(drawn) == [f"Style rules that are not understood and not applied: @media {media} (line 2)."]
    drawn = drawing(f'<style media="{media}">path {{ display: none }}</style>{SQUARE}')
    assert not drawn.lines[0].hidden
    assert told(drawn) == [
        f"Style rules that are not understood and not applied: style element for {media} (line 1)."
    ]


def test_media_inside_media():
    assert hidden("@media print{@media all{.a{display:none}}.b{fill:red}}")
    assert not hidden("@media print{@media screen{.a{display:none}}}")


@pytest.mark.parametrize(
    "css",
    [
        '.x{content:"}"} .a{display:none}',
        '.x{content:"{"} .a{display:none}',
        ".x{content:'a;display:none'} .a{display:none}",
        ".x{background:url(data:image/png;base64,AA})} .a{display:none}",
        "/* } */ .a{display:none}",
        ".x{/* { */} .a{display:none}",
        "@font-face{font-family:'}'} .a{display:none}",
        "@charset 'utf-8'; .a{display:none}",
        "@page{size:a4} .a{display:none}",
        "<![CDATA[ .x > .y{} .a{display:none} ]]>",
        "<![CDATA[<!-- .a{display:none} -->]]>",
        "]]&gt;{} .a{display:none}",
        ".a{display:none",  # the end of the sheet closes what is open
    ],
)
def test_signs_in_words_and_comments_begin_and_end_nothing(css):
    drawn = drawing(f'<style>{css}</style>{SQUARE}<rect class="a" width="3" height="3"/>')
    assert [line.hidden for line in drawn.lines] == [False, True]


def test_a_sheet_in_a_comment_of_the_file_is_none():
    assert not hidden("<!-- .a{display:none} -->")


@pytest.mark.parametrize(
    ("css", "what"),
    [
        ("path:frob{fill:none}", "path:frob"),
        ("svg || path{fill:none}", "svg || path"),
        ("path:has(&gt; title){fill:none}", "path:has(> title)"),
        ("path:not(svg path){fill:none}", "path:not(svg path)"),
        ("#square, ..b{fill:none}", "#square, ..b"),  # one wrong selector takes its rule with it
        ("&gt; path{fill:none}", "> path"),
        ("no|path{fill:none}", "no|path"),
        ("@supports (fill:red){path{fill:none}}", "@supports (fill:red)"),
        ("@layer base{path{fill:none}}", "@layer base"),
        ("@import 'other.css';", "@import 'other.css'"),
        ("path{stroke red}", "inside of a rule"),
        ("path{&amp; .b{fill:none}}", "& .b inside of a rule"),
    ],
)
def test_what_is_not_understood_is_told_with_its_line(css, what):
    drawn = drawing(
        f"\n<style\n>.b{{stroke:red}}\n\n{css} .a{{display:none}}</style>{SQUARE}<rect class='a' width='3' height='3'/>"
    )
    (message,) = told(drawn)
    assert what.replace("'", '"') in message.replace("'", '"')
    assert "(line 5)" in message
    assert [line.hidden for line in drawn.lines] == [False, True]


def test_a_style_sheet_outside_of_the_file_is_told():
    data = svg(SQUARE)
    drawn = read_bytes(b"<?xml version='1.0'?>\n<?xml-stylesheet type='text/css' href='looks.css'?>" + data)
    assert told(drawn) == [
        "Style rules that are not understood and not applied: a style sheet outside of the file (line 2)."
    ]
    assert "unknown-element" in codes(drawing(f'<link rel="stylesheet" href="looks.css"/>{SQUARE}'))


def test_a_line_is_that_of_the_file_also_behind_a_comment():
    drawn = drawing(f"<style><!-- two\nlines -->\n:frob{{}}\n<![CDATA[\n:brof{{}}]]></style>{SQUARE}")
    assert ":frob (line 3); :brof (line 5)" in told(drawn)[0]


def test_a_style_attribute_with_signs_in_words():
    shape = '<path {} d="M0 0H9V9z"/>'
    assert not only_line(shape.format("style=\"font-family:'x;display:none'\"")).hidden
    assert only_line(shape.format("style=\"font-family:'a;b';display:none\"")).hidden
    assert only_line(shape.format('style="/* ; */display:none"')).hidden
    assert only_line(shape.format('style="display:NONE"')).hidden
    assert only_line(shape.format('style="mask:url(data:x;fill:red);display:none"')).hidden


@pytest.mark.parametrize(
    ("style", "plain"),
    [
        ("fill:none;stroke:#000000;stroke-width:.5", True),
        ("font-family:'Kit Sans', serif;-own-font:'Kit Sans, Normal';fill:none", True),
        ("marker-end:url(#Arrow1);fill:none", True),
        ('marker-end:url("#Arrow1");fill:none', True),
        ("fill:none;x:url(../a/b.png)", True),
        ("font-family:'a;b';fill:none", False),
        ("fill:none/**/", False),
        ("fill:none!important", False),
        ("x:url(a;b);fill:none", False),
        (r"f\69ll:none", False),
        ("font-family:'open;fill:none", False),
        ("", True),
    ],
)
def test_a_style_attribute_of_plain_form_means_the_same_to_the_parser(style, plain):
    assert bool(_PLAIN.fullmatch(style)) == plain
    node = Node("path", {"style": style}, 1)
    by_hand = Styles(None, Source("a.svg", b""))._declarations(node)
    assert {name: value[1] for name, value in by_hand.items()} == {
        name: value[1] for name, value in read_declarations(style).items()
    }
    for name in ("fill", "stroke", "stroke-width"):
        assert by_hand.get(name) == read_declarations(style).get(name)
    if "marker-end" in style:
        assert "#Arrow1" in by_hand["marker-end"][0]


def test_endless_style_attributes_are_refused():
    with pytest.raises(InputError, match=r"limits\.stylesheet"):
        drawing("".join(f'<path style="fill:red/*{k:0>1000}*/" d="M0 0H9"/>' for k in range(1100)))


def test_what_a_use_shows_is_styled_where_it_is_defined():
    body = (
        '<style>defs path{display:none} .shown path{display:inline}</style><defs><path id="p" d="M0 0H9V9z"/></defs>'
    )
    assert only_line(f'{body}<g class="shown"><use href="#p"/></g>').hidden


def test_a_selector_of_many_steps_costs_its_steps():
    # Every way to spread 150 steps over 190 ancestors would not be tried within an age.
    deep = "<g>" * 190 + SQUARE + "</g>" * 190
    css = f"{'g ' * 150}path{{display:none}} .no {'g ' * 150}path{{fill:none}} {'g ~ ' * 150}path{{fill:none}}"
    assert only_line(f"<style>{css}</style>{deep}").hidden
    row = "<g/>" * 3000 + SQUARE
    assert only_line(
        f"<style>.no {'~ g ' * 150} ~ path{{fill:none}} {'g + ' * 2000}path{{display:none}}</style>{row}"
    ).hidden


def test_rules_found_by_id_class_or_tag_are_not_tried_on_every_element():
    css = "".join(f".st{k}{{fill:none}} #i{k}{{stroke:red}} t{k}{{fill:red}}" for k in range(1200))
    shapes = "".join(f'<path class="st{k}" id="i{k}" d="M{k} 0H-9"/>' for k in range(1200))
    assert len(drawing(f"<style>{css}</style>{shapes}").lines) == 1200


@pytest.mark.parametrize(
    "css",
    [
        "".join(f"[x='{k}']{{fill:red}}" for k in range(5000)),
        "".join(f".no{k} {'* ' * 150}path{{fill:red}}" for k in range(800)),
        "".join(f"g ~ path:not([x='{k}']){{fill:red}}" for k in range(5000)),
        "".join(f"path:nth-last-of-type({k}){{fill:red}}" for k in range(5000)),
        "".join(f".a{k} .b{k}{{}}" for k in range(60_000)),
    ],
    ids=["attributes", "descendants", "siblings", "of type", "selectors"],
)
def test_more_matching_than_is_worth_it_is_refused_in_one_sentence(css):
    shapes = "<path d='M0 0H9'/>" * 5000
    with pytest.raises(InputError) as refused:
        drawing(f"<style>{css}</style>{'<g>' * 150}{shapes}{'</g>' * 150}")
    assert "limits." in str(refused.value)
    assert "\n" not in str(refused.value)


def test_more_style_than_any_drawing_needs_is_refused_but_not_a_font_in_it():
    with pytest.raises(InputError, match=r"limits\.stylesheet"):
        drawing(f"<style>{'.a{fill:red}' * 90_000}</style>{SQUARE}")
    font = f"@font-face{{font-family:Kit;src:url(data:font/woff2;base64,{'AAAA' * 500_000})}}"
    drawn = drawing(f"<style>{font}\n:frob{{}} path{{display:none}}</style>{SQUARE}")
    assert drawn.lines[0].hidden
    assert told(drawn)[0].endswith(":frob (line 2).")


def test_no_css_library_is_imported_for_a_file_without_style_sheet(tmp_path):
    file = tmp_path / "plain.svg"
    file.write_bytes(svg(f'{SQUARE}<path style="fill:none;stroke:red;marker-end:url(#x)" d="M0 0H9"/>'))
    code = f"import sys, seamcheck; seamcheck.read({str(file)!r}); print({{'tinycss2', 'cssselect2'}} & set(sys.modules))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "set()"


def test_a_sheet_in_another_encoding_keeps_its_lines():
    text = f"<?xml version='1.0' encoding='utf-16'?>\n<svg {SPACES} width='9mm' height='9mm'>\n<style>\n:frob{{}}</style>{SQUARE}</svg>"
    assert "(line 4)" in told(read_bytes(text.encode("utf-16")))[0]
    assert codes(read_bytes(text.encode("utf-16"))).count("css-not-understood") == 1
