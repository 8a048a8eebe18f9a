"""Every page is filled by one environment that escapes what is put in: names out of a file stay words on all of them."""

import ast
import json
import os
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from markupsafe import Markup

sys.path.insert(0, str(Path(__file__).parent))

from pages import DEMO, Page
from pages import judged as judged_file
from proposing import hostile

import seamcheck
from seamcheck.amounts import Length, Name, phrase
from seamcheck.checks.base import Severity
from seamcheck.engine.report_format import RenderOptions
from seamcheck.engine.result import Report
from seamcheck.errors import Failure
from seamcheck.pattern.drawing import Note
from seamcheck.report.compiled import Compiled
from seamcheck.report.html import page as html_page
from seamcheck.report.html.page import render
from seamcheck.report.notebook import report_html
from seamcheck.report.table.page import pairing_page
from seamcheck.report.templates import environment, finalized

pytestmark = pytest.mark.usefixtures("read_once")

ROOT = Path(seamcheck.__file__).parent
TEMPLATES = sorted(path for path in (ROOT / "report").rglob("*.html"))

# Who may say that what it made needs no escaping, and what that is.
TRUSTED = {
    "report/html/page.py": "the part of each file, as the templates made it now or in a run before",
    "report/html/figures.py": "drawings, whose words are escaped by the pens that make them",
    "report/table/page.py": "the drawing of the pieces and the plates of seams",
    "report/paper.py": "scripts, style sheets and data for scripts",
    "report/templates.py": "what has been escaped",
}
SHORT = "</title></script><script>boom()</script><img src=x onerror='boom()'>\" {{ title }}{% x %}"  # as a plan may say it
EVIL = "</title></style></script></textarea><script>boom()</script><img src=x onerror='boom()'>\" onload=\"boom()\u202e{{ title }}{% x %}\x1b[2J"


def calls(tree: ast.Module, name: str) -> bool:
    return any(
        isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == name
        for node in ast.walk(tree)
    )


def kept(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.rglob("*.html.*")}


def compile_in_a_process(folder: Path, **more: str) -> None:
    code = "from seamcheck.report.templates import environment; environment().get_template('notebook.html')"
    given = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    env = given | {"PYTHONPYCACHEPREFIX": str(folder)} | more
    subprocess.run([sys.executable, "-c", code], env=env, check=True)


def test_compiled_templates_are_kept_as_modules_are(tmp_path):
    compile_in_a_process(tmp_path, PYTHONDONTWRITEBYTECODE="1")
    assert not kept(tmp_path)
    compile_in_a_process(tmp_path)
    first = kept(tmp_path)
    assert [name.partition(".html.")[0] for name in first] == ["notebook"]
    # What is spoilt, of another text or of other versions is compiled anew.
    (path,) = tmp_path.rglob("*.html.*")
    whole = first[path.name]
    for spoilt in (b"", b"no bytecode", whole[:40], whole[: len(whole) // 2], whole.replace(b"j2", b"j1", 1)):
        path.write_bytes(spoilt)
        compile_in_a_process(tmp_path)
        assert kept(tmp_path) == first


def test_a_compiled_template_is_of_its_text_and_of_jinja2(monkeypatch):
    one = Compiled().get_source_checksum("text")
    assert one == Compiled().get_source_checksum("text") != Compiled().get_source_checksum("texts")
    monkeypatch.setattr("seamcheck.report.compiled.JINJA2", "another")
    assert Compiled().get_source_checksum("text") != one


def test_the_environment_escapes_and_fails_on_names_that_are_not_there():
    made = environment()
    assert made.autoescape is True
    assert made.undefined.__name__ == "StrictUndefined"
    assert made.from_string("<a title='{{ it }}'>{{ it }}").render(it="<b>'\"&") == (
        "<a title='&lt;b&gt;&#x27;&quot;&amp;'>&lt;b&gt;&#x27;&quot;&amp;"
    )
    assert (
        made.from_string("{{ 'a' ~ it }} {{ [it, it] | join(', ') }}").render(it="<b>")
        == "a&lt;b&gt; &lt;b&gt;, &lt;b&gt;"
    )
    assert html_page._templates().autoescape is True


def test_autoescape_holds_behind_what_puts_words_in_order():
    """Both do it: without the one that knows control characters as well, nothing would come through either."""
    made = environment()
    made.finalize = None
    assert made.from_string("{{ it }}").render(it="<b>") == "&lt;b&gt;"


@pytest.mark.parametrize(
    ("given", "put_in"),
    [("\x1b[31m", "\ufffd[31m"), ("a\u202eb", "a\\u202eb"), (3, "3"), (Markup("<b>"), "<b>"), ("\ud800", "\ufffd")],
)
def test_what_is_put_in_has_no_letters_that_steer_or_turn(given, put_in):
    assert str(finalized(given)) == put_in


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.name)
def test_no_template_turns_escaping_off(path):
    text = path.read_text(encoding="utf-8")
    assert not re.search(r"\|\s*safe\b|autoescape|Markup", text)
    environment().parse(text)


def test_html_is_written_in_templates_and_trusted_in_few_places():
    trusting = set()
    for path in ROOT.rglob("*.py"):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        if calls(tree, "trusted"):
            trusting.add(path.relative_to(ROOT).as_posix())
        assert not calls(tree, "Markup") or path.name == "templates.py"
    assert trusting == TRUSTED.keys()


@pytest.mark.parametrize("name", ["html", "notebook.py", "paper.py", "templates.py"])
def test_no_tag_is_written_in_python(name):
    paths = [ROOT / "report" / name] if name.endswith(".py") else sorted((ROOT / "report" / name).glob("*.py"))
    for path in paths:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                assert not re.search(r"</?[a-z]+[ >/]", node.value), f"{path.name}: {node.value[:60]}"


def with_evil_names(judged, finding):
    """A run of which every text that can come out of a file means no good."""
    made = judged(
        finding(
            message=EVIL,
            advice=EVIL,
            seam=EVIL,
            pieces=(EVIL,),
            edges=(f"{EVIL}.a",),
            check=EVIL,
            code=EVIL,
            plugin=EVIL,
        ),
        finding(message=EVIL, seam=EVIL, pieces=(EVIL,), size=EVIL, accepted=EVIL),
        finding(message=EVIL, seam=None, pieces=(EVIL,), edges=(), severity=Severity.NOTE),
        sizes=("M", EVIL),
        pattern=EVIL,
        path=EVIL,
        plan=EVIL,
        pieces=(EVIL,),
        notes=(Note("hidden", phrase("{it} {long}", it=Name(EVIL), long=Length(3.0))),),
        failures=(Failure(EVIL),),
    )
    seams = tuple(replace(seam, name=EVIL, first=replace(seam.first, edges=(EVIL,))) for seam in made.seams)
    junctions = tuple(replace(one, corners=(EVIL, EVIL)) for one in made.junctions)
    skipped = tuple(replace(one, check=EVIL, piece=EVIL, why=phrase("{it}", it=Name(EVIL))) for one in made.skipped)
    return replace(made, seams=seams, junctions=junctions, skipped=skipped)


def drawn_with_evil_names(folder):
    """The demo judged with its drawings, whose plan and pieces have such names."""
    drawing, plan = (
        (DEMO / "altered" / "prominent-calf-left.svg").read_text("utf-8"),
        (DEMO / "ferryhand.seams.toml").read_text("utf-8"),
    )
    for name in ("front", "back"):
        told = json.dumps(f"{name} {SHORT}")[1:-1]
        plan = re.sub(
            rf"^\[pieces\.{name}(?=[\].])", lambda _, told=told: f'[pieces."{told}"', plan, flags=re.MULTILINE
        )
        plan = re.sub(rf'"(-?){name}(?=[."])', lambda found, told=told: f'"{found[1]}{told}', plan)
    plan = plan.replace("outseam = [", f'"{json.dumps(SHORT)[1:-1]}" = [').replace(
        '.outseam"', f'.{json.dumps(SHORT)[1:-1]}"'
    )
    plan = plan.replace('name = "outseam"', f"name = {json.dumps(SHORT)}")
    (folder / "evil.svg").write_text(drawing, encoding="utf-8")
    (folder / "evil.seams.toml").write_text(plan, encoding="utf-8")
    file = judged_file(folder / "evil.svg", folder / "evil.seams.toml")
    assert not file.failures
    assert any(SHORT in (finding.seam or "") for finding in file.findings)
    return file


def pages(judged, finding, folder):
    evil = with_evil_names(judged, finding)
    yield "report", render(Report(files=(evil,)), RenderOptions()), 1
    yield "several", render(Report(files=(evil, replace(evil))), RenderOptions()), 1
    yield "drawings", render(Report(files=(drawn_with_evil_names(folder),)), RenderOptions()), 1
    yield "notebook", report_html(Report(files=(evil,))), 0
    yield "pairing", pairing_page(hostile()), 2


def test_hostile_names_do_nothing_on_any_page(judged, finding, tmp_path):
    for name, text, scripts in pages(judged, finding, tmp_path):
        made = Page(text)
        tags = [tag for tag, _ in made.elements]
        assert tags.count("script") == scripts, name
        assert "img" not in tags, name
        for tag, given in made.elements:
            assert not [one for one in given if one.startswith("on")], f"{name}: {tag} {given}"
        assert not re.search("[\x00-\x08\x0b-\x1f\x7f\u202a-\u202e\u2066-\u2069]", text), name
        if name != "pairing":
            assert "<script>boom()</script>" in made.text, name  # it is there, as words
            assert "{{ title }}{% x %}" in made.text, name


def test_jinja_is_imported_for_html_alone(tmp_path):
    drawing = Path(__file__).parents[2] / "fixtures" / "ferryhand" / "ferryhand.svg"
    code = (
        "import sys, seamcheck; from seamcheck import api; report = api.check([{0!r}]); report.render('json');"
        "print('jinja2' in sys.modules); report.render('html'); print('jinja2' in sys.modules)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code.format(str(drawing))], capture_output=True, text=True, check=True
    )
    assert done.stdout.split() == ["False", "True"]
