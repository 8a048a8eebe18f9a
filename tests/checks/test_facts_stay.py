"""What a check saw stays facts until a report writes the words: no amount is formatted where things are measured."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
# The way these say the cause of a difference and its remedy is still text.
IN_WORDS = {"cause.py", "ease.py", "seams.py"}
NO_CHECKS = {"kit_layers.py", "ticket.py"}  # a reader and a report
SOURCES = sorted(
    path
    for folder in ("seamcheck/checks", "plugins/house_rules", "plugins/trousers")
    for path in (ROOT / folder).rglob("*.py")
    if "tests" not in path.parts and path.name not in IN_WORDS | NO_CHECKS
)
SAYING = {"length", "angle", "inches", "millimetres", "listed", "fact", "opened"}


def said(tree: ast.AST) -> Iterator[str]:
    """What makes text of an amount or of several names."""
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.module == "seamcheck.amounts":
            yield from (f"imports {alias.name}" for alias in node.names if alias.name in SAYING)
        elif isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id == "amounts":
            yield f"amounts.{node.attr}"
        elif isinstance(node, ast.FormattedValue) and node.format_spec is not None:
            yield f"formats a number in line {node.lineno}"
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            if (
                node.func.attr == "join"
                and isinstance(node.func.value, ast.Constant)
                and node.func.value.value.strip()
            ):
                yield f"joins names in line {node.lineno}"
            elif node.func.attr == "format" and node.args:
                yield f"formats in line {node.lineno}"
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "format":
            yield f"formats in line {node.lineno}"
    yield from (f"composes a fact in line {node.lineno}" for node in _facts(tree) if isinstance(node, ast.JoinedStr))


def _facts(tree: ast.AST) -> Iterator[ast.AST]:
    """The values of facts, and the reasons of skips."""
    for node in ast.walk(tree):
        if isinstance(node, ast.keyword) and node.arg == "facts" and isinstance(node.value, ast.Dict):
            yield from node.value.values
        elif isinstance(node, ast.AnnAssign) and "Fact" in ast.unparse(node.annotation):
            yield from node.value.values if isinstance(node.value, ast.Dict) else ()
        elif (isinstance(node, ast.Return) and isinstance(node.value, ast.Dict)) or (
            isinstance(node, ast.AugAssign) and isinstance(node.op, ast.BitOr) and isinstance(node.value, ast.Dict)
        ):
            yield from node.value.values
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "Skip":
            yield from (word.value for word in node.keywords if word.arg == "why")


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: path.name)
def test_no_amount_is_formatted_where_it_is_measured(path):
    assert list(said(ast.parse(path.read_text(encoding="utf-8")))) == []


@pytest.mark.parametrize(
    ("source", "what"),
    [
        ("from seamcheck.amounts import Length, length", "imports length"),
        ("amounts.length(3)", "amounts.length"),
        ('f"{angle:.1f}°"', "formats a number in line 1"),
        ('" and ".join(names)', "joins names in line 1"),
        ('"{}".format(3)', "formats in line 1"),
        ('Observation(code="a", facts={"edge": f"{piece}.{edge}"})', "composes a fact in line 1"),
        ('Skip(why=f"{piece} is gone")', "composes a fact in line 1"),
    ],
)
def test_the_gate_sees_what_is_composed(source, what):
    assert what in list(said(ast.parse(source)))


# Reasons


def reasons() -> set[str]:
    """Every code of a reason that stands in the package and its plugins."""
    found = set()
    folders = [ROOT / "seamcheck", *ROOT.glob("plugins/*/seamcheck_*")]
    for path in (path for folder in folders for path in folder.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
                given = [word.value for word in node.keywords if word.arg == "reason"]
                given += node.args[:1] if node.func.id in ("Reason", "NotMeasuredError") else []
                found |= {one.value for one in given if isinstance(one, ast.Constant)}
    return found


def test_every_skip_of_ours_gives_a_code():
    for path in SOURCES:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "Skip":
                assert "reason" in {word.arg for word in node.keywords}, f"{path.name}, line {node.lineno}"


def test_every_code_of_a_reason_is_brought_about_by_a_test():
    texts = "".join(
        path.read_text(encoding="utf-8")
        for folder in (ROOT / "tests", *ROOT.glob("plugins/*/tests"))
        for path in folder.rglob("test_*.py")
    )
    assert len(reasons()) > 50
    assert sorted(one for one in reasons() if f'"{one}"' not in texts) == []


def test_the_words_of_a_message_are_never_read_back():
    """Where a line, the corners of a junction or the kind of a skip was cut out of a sentence, no expression looks for one."""
    for name in ("errors.py", "engine/judge.py", "engine/grading.py"):
        tree = ast.parse((ROOT / "seamcheck" / name).read_text(encoding="utf-8"))
        for node in ast.walk(tree):
            if isinstance(node, ast.Import):
                assert "re" not in {alias.name for alias in node.names}, name
            if isinstance(node, ast.Attribute) and ast.unparse(node.value).endswith((".why", ".message", ".place")):
                assert node.attr not in {"startswith", "endswith", "partition", "removeprefix", "split"}, name
