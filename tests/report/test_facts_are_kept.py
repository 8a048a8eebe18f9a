"""What is said of a finding, a note or a skip is told by its facts: nothing reads a sentence back to find something in it."""

import ast
from pathlib import Path

import pytest

import seamcheck

ROOT = Path(seamcheck.__file__).parent
FOLDERS = ("engine", "report", "truing")

# Where patterns of letters are looked for, in what, and why that reads back no sentence.
ALLOWED = {
    "engine/plugins.py": "the names of checks, and what pluggy says of a hook that does not fit: it gives nothing but a sentence",
    "report/html/figures.py": "ids in SVG, which get their prefix where a figure is written",
    "report/layout.py": "where a line may be broken, and letters that steer a terminal or that XML cannot hold",
    "report/markdown.py": "letters that Markdown would read, and entities",
    "report/table/page.py": "the tables in the text of a plan",
    "report/pairing/svg.py": "the colours in the style sheet of a page, for a drawing that stands alone",
    "report/sarif.py": "letters that Markdown would read",
    "report/truing/picture_pdf.py": "the dates in a PDF, which are left out of it",
    "truing/dxf_pairs.py": "the lines of a DXF file",
    "truing/propose.py": "which corrections were chosen, as typed on the command line",
    "truing/write_svg.py": "attributes in an SVG file",
}

# What a sentence is found under, and what looks into one.
SAID = {"message", "advice", "why", "said", "fault", "remedy", "words"}
LOOKS = {
    "partition",
    "rpartition",
    "split",
    "rsplit",
    "startswith",
    "endswith",
    "removeprefix",
    "removesuffix",
    "find",
    "index",
    "replace",
    "count",
}


def modules():
    return sorted(path for folder in FOLDERS for path in (ROOT / folder).rglob("*.py"))


def named(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def imports_re(tree: ast.Module) -> bool:
    return any(
        (isinstance(node, ast.Import) and any(alias.name == "re" for alias in node.names))
        or (isinstance(node, ast.ImportFrom) and node.module == "re")
        for node in ast.walk(tree)
    )


def read_back(tree: ast.Module):
    """Calls that look into a sentence, and comparisons of what stands in one."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr in LOOKS:
            looked_at = [node.func.value]
        elif (
            isinstance(node, ast.Call)
            and isinstance(node.func, ast.Attribute)
            and node.func.attr in ("search", "match", "fullmatch", "findall", "finditer", "sub")
        ):
            looked_at = list(node.args)
        elif isinstance(node, ast.Compare) and any(isinstance(one, ast.In | ast.NotIn) for one in node.ops):
            looked_at = node.comparators
        else:
            continue
        for one in looked_at:
            while isinstance(one, ast.Call) and isinstance(one.func, ast.Name) and one.func.id == "str":
                one = one.args[0]
            if isinstance(one, ast.Attribute) and one.attr in SAID:
                yield f"line {node.lineno}: {ast.unparse(node)}"


def test_only_named_modules_look_for_patterns_of_letters_and_none_of_them_in_vain():
    found = {named(path) for path in modules() if imports_re(ast.parse(path.read_text(encoding="utf-8")))}
    assert found == ALLOWED.keys()


@pytest.mark.parametrize("path", modules(), ids=named)
def test_no_sentence_is_read_back(path):
    assert list(read_back(ast.parse(path.read_text(encoding="utf-8")))) == []


@pytest.mark.parametrize(
    "line",
    [
        're.search("a", finding.message)',
        '_AMOUNT.sub("", str(finding.fault))',
        'note.message.startswith("the ")',
        'skip.why.partition(": ")',
        'skip.why.endswith("plan")',
        '"6.4 mm" in finding.message',
        'finding.advice.split(". ")',
    ],
)
def test_a_sentence_that_is_read_back_is_noticed(line):
    assert len(list(read_back(ast.parse(line)))) == 1


@pytest.mark.parametrize("line", ['name.partition(".")', "finding.size in names", 'text(finding.message, "x")'])
def test_what_reads_no_sentence_is_left_alone(line):
    assert list(read_back(ast.parse(line))) == []
