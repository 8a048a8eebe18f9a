import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seamcheck.config.toml import key_lines, nearest, parse, read_text
from seamcheck.errors import PlanError

AWKWARD = '''# [not.a.table]
title = "a # no comment, [[no table]]" # a = 1
"quoted key" . 'second.part' = """
fake = 1
[fake]
\\""" still inside """""
dotted.key = \'\'\'
other = 2\'\'\'\'

[ spaced . "out" ] # header
list = [ 1, # first
  [2, "]"], { x = 1, y.z = [3,
   4] },
]
date = 1979-05-27 07:32:00
[[rows]]
a = 1
[rows.inner]
b = 2
[[rows]]
a = 3
[[rows.deep]]
c = 4
[[rows.deep]]
c = 5
[rows.deep.under]
d = 6
'''


def test_lines_of_an_awkward_text():
    tomllib.loads(AWKWARD)
    lines = key_lines(AWKWARD)
    expected = {
        ("title",): 2,
        ("quoted key", "second.part"): 3,
        ("dotted",): 7,
        ("dotted", "key"): 7,
        ("spaced", "out"): 10,
        ("spaced", "out", "list"): 11,
        ("spaced", "out", "list", 0): 11,
        ("spaced", "out", "list", 1): 12,
        ("spaced", "out", "list", 1, 1): 12,
        ("spaced", "out", "list", 2, "y", "z"): 12,
        ("spaced", "out", "list", 2, "y", "z", 1): 13,
        ("spaced", "out", "date"): 15,
        ("rows", 0, "a"): 17,
        ("rows", 0, "inner", "b"): 19,
        ("rows", 1): 20,
        ("rows", 1, "a"): 21,
        ("rows", 1, "deep", 0, "c"): 23,
        ("rows", 1, "deep", 1): 24,
        ("rows", 1, "deep", 1, "c"): 25,
        ("rows", 1, "deep", 1, "under", "d"): 27,
    }
    assert {key: lines.get(key) for key in expected} == expected
    assert ("fake",) not in lines
    assert ("other",) not in lines


def test_lines_with_windows_line_ends():
    assert key_lines(AWKWARD.replace("\n", "\r\n")) == key_lines(AWKWARD)


WORDS = st.sampled_from(["a", "b-1", "c_2", '"d.e"', "'f#g'"])
SCALARS = st.sampled_from(["1", "-2.5", '"x]y"', "'#'", "true", '"""m\nn = 1"""', "1979-05-27", '""', "inf"])
VALUES = st.recursive(
    SCALARS,
    lambda inner: st.one_of(
        st.lists(inner, max_size=3).map(lambda items: "[\n" + ", # note ]\n".join([*items, ""]) + "]"),
        st.lists(inner, min_size=1, max_size=3).map(lambda items: "[" + ", ".join(items) + "]"),
        st.dictionaries(WORDS, inner, max_size=3).map(
            lambda items: "{ " + ", ".join(f"{key} = {value}" for key, value in items.items()) + " }"
        ),
    ),
    max_leaves=8,
)
TABLES = st.dictionaries(WORDS, VALUES, max_size=4).map(
    lambda items: "\n".join(f"{key} = {value}" for key, value in items.items())
)


def leaves(value, keys=()):
    yield keys, value
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from leaves(inner, (*keys, key))
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from leaves(inner, (*keys, index))


@given(top=TABLES, rows=st.lists(st.tuples(TABLES, TABLES), max_size=4))
def test_every_key_stands_on_the_line_that_is_found(top, rows):
    text = top + "\n" + "\n".join(f"[[rows]]\n{one}\n[[rows.more]]\n{other}" for one, other in rows)
    values = tomllib.loads(text)
    lines = key_lines(text)
    source = text.split("\n")
    for keys, _ in leaves(values):
        if keys:
            assert keys in lines
        if keys and isinstance(keys[-1], str):
            assert keys[-1] in source[lines[keys] - 1]
    assert set(lines) == {keys for keys, _ in leaves(values) if keys}


def test_nearest_names_the_closest_or_lists_them():
    assert nearest("outsem", ["inseam", "outseam"], "edge") == 'the nearest edge is "outseam"'
    assert nearest("zzz", ["ab", "cd"], "edge") == 'the edges are "ab", "cd"'
    assert nearest("zzz", [], "edge") == "there are no edges to choose from"
    assert nearest("zzz", [f"ab{n}" for n in range(20)], "edge").endswith('"ab11" and 8 more')


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("a = 1\nb = \n", "line 2"),
        ("a = 1\na = 2", "line 2"),
        ("a = [1,\n2,\n", "line 2"),
        ("a = " + "9" * 5000, ""),
        ("a = " + "[" * 4000 + "]" * 4000, ""),
    ],
)
def test_bad_toml_is_one_sentence(text, place):
    with pytest.raises(PlanError) as caught:
        parse(text, "p.toml", PlanError)
    assert str(caught.value.place) == place
    assert caught.value.path == "p.toml"
    assert "\n" not in str(caught.value)


def test_read_text(tmp_path):
    path = tmp_path / "a.toml"
    path.write_bytes(b"\xef\xbb\xbfa = 1\r\n")
    assert read_text(path, PlanError, "plan") == "a = 1\r\n"
    path.write_bytes(b"a = 1\nb = '\xe9'\n")
    with pytest.raises(PlanError, match=r"line 2: the plan holds letters that are not UTF-8; save"):
        read_text(path, PlanError, "plan")
    with pytest.raises(PlanError, match="this is a folder"):
        read_text(tmp_path, PlanError, "plan")
    with pytest.raises(PlanError, match="there is no plan of this name"):
        read_text(tmp_path / "none.toml", PlanError, "plan")
    path.write_bytes(b"#" * (4 * 1024 * 1024 + 1))
    with pytest.raises(PlanError, match="larger than 4 MiB"):
        read_text(path, PlanError, "plan")
    with pytest.raises(PlanError, match="cannot be opened"):
        read_text(tmp_path / "nul\0", PlanError, "plan")
