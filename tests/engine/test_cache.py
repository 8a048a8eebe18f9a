import dataclasses
import importlib
import os
import pickle
import shutil
import subprocess
import sys
import zlib
from functools import partial
from hashlib import sha256
from pathlib import Path

import pytest
from click.testing import CliRunner

from seamcheck.cli.main import main
from seamcheck.engine import cache as cache_module
from seamcheck.engine.cache import MOST_BYTES, TAG, Cache
from seamcheck.engine.jobs import judge_files
from seamcheck.engine.read import Request
from seamcheck.engine.workspace import Shops
from seamcheck.testing import FAULTS, good_draft
from seamcheck.truing.recipes import with_recipes

FIXTURES = Path(__file__).parents[2] / "fixtures"
FERRYHAND = FIXTURES / "ferryhand" / "ferryhand.svg"
HOUSE = """
from seamcheck.plugin import Check, Code, LookedAt, Severity
FEW = Code(name="few", meaning="too few", message="few", advice="more", severity=Severity.WARNING)
def seamcheck_register_checks(register):
    register(Check(name="loops", family="house", meaning="enough", why="so", remedy="more", source="house rule",
                   codes=(FEW,), run=lambda context: [LookedAt()]))
"""


@pytest.fixture
def styles(tmp_path):
    """Two styles, one of them with something to put right."""
    folder = tmp_path / "styles"
    folder.mkdir()
    good = good_draft()
    good.save(folder)
    FAULTS["short-side"].change(dataclasses.replace(good, name="short")).save(folder)
    return folder


@pytest.fixture
def kept(tmp_path):
    return Cache(tmp_path / "cache")


class Counted:
    """Judges, and remembers which files it was asked for."""

    def __init__(self, request=None, **shops):
        self.shops = Shops(recipes=with_recipes, **shops)
        self.request = request or Request()
        self.asked = []

    def __call__(self, paths):
        self.asked += paths
        return judge_files(paths, self.request, shops=self.shops, jobs=1)


def run(cache, *paths, request=None, **shops):
    """The results, and how many files were judged for them."""
    judge = Counted(request, **shops)
    found = list(cache.judged([str(path) for path in paths], judge.request, judge.shops, judge))
    return found, len(judge.asked)


def judged_anew(cache, *paths, request=None, **shops):
    return run(cache, *paths, request=request, **shops)[1]


def test_what_has_not_changed_is_not_judged_again_and_is_told_alike(styles, kept):
    paths = sorted(styles.glob("*.svg"))
    first, judged = run(kept, *paths)
    assert judged == 2
    assert [len(result.findings) for result in first] == [0, 1]
    assert run(kept, *paths) == (first, 0)
    assert run(kept, *reversed(paths)) == (first[::-1], 0)
    (styles / "short.seams.toml").write_text((styles / "short.seams.toml").read_text() + "# looked at\n")
    assert run(kept, *paths) == (first, 1)


@pytest.mark.parametrize("name", ["ferryhand.svg", "ferryhand-nest.dxf", "ferryhand-digitised.svg"])
def test_curves_are_kept_too_where_a_report_draws(kept, name):
    path, request = FIXTURES / "ferryhand" / name, Request(geometry=True)
    (first,), judged = run(kept, path, request=request)
    (again,), then = run(kept, path, request=request)
    assert (judged, then) == (1, 0)
    assert again == first
    assert again.geometry == first.geometry
    assert judged_anew(kept, path) == 1  # without them it is another result


def test_recipes_and_causes_are_kept(kept):
    altered = FIXTURES / "ferryhand" / "altered" / "deep-torso-left.svg"
    request = Request(plan=FIXTURES / "ferryhand" / "ferryhand.seams.toml", before=FERRYHAND, geometry=True)
    (first,), _ = run(kept, altered, request=request)
    assert any(one.recipe for one in first.findings)
    assert any(one.recipe and one.recipe.lines for one in first.findings)
    (again,), judged = run(kept, altered, request=request)
    assert judged == 0
    assert again == first
    assert [one.recipe and one.recipe.lines for one in again.findings] == [
        one.recipe and one.recipe.lines for one in first.findings
    ]


# never out of date


def with_house_rules(styles):
    (styles / "house.py").write_text(HOUSE)
    settings = styles / "ours.toml"
    settings.write_text('plugins = ["house.py"]\n')
    return {"settings": str(settings)}


def rewritten(path, old, new):
    path.write_text(path.read_text().replace(old, new))


CHANGES = {
    "the pattern": lambda folder: rewritten(folder / "good.svg", "<svg", "<!-- --><svg"),
    "the plan": lambda folder: rewritten(folder / "good.seams.toml", "format = 1", "format = 1 "),
    "the plan is gone": lambda folder: (folder / "good.seams.toml").unlink(),
    "the earlier file": lambda folder: rewritten(folder / "old.svg", "<svg", "<!-- --><svg"),
    "the plan of the earlier file": lambda folder: shutil.copy(folder / "good.seams.toml", folder / "old.seams.toml"),
    "a rule table": lambda folder: (folder / "any.rul").write_text("x"),
    "the settings": lambda folder: rewritten(folder / "ours.toml", "plugins", "units = 'mm'\nplugins"),
    "a plugin's file": lambda folder: rewritten(folder / "house.py", "too few", "far too few"),
}


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES)
def test_all_that_a_result_is_made_from_tells_it_from_others(styles, kept, change):
    good = styles / next(one.name for one in styles.glob("*.svg") if one.name != "short.svg")
    for one in (good, good.with_suffix("").with_suffix(".seams.toml")):
        one.replace(styles / f"good{''.join(one.suffixes)}")
    good = styles / "good.svg"
    shutil.copy(good, styles / "old.svg")
    shops = with_house_rules(styles)
    request = Request(before=styles / "old.svg")
    assert judged_anew(kept, good, request=request, **shops) == 1
    assert judged_anew(kept, good, request=request, **shops) == 0
    change(styles)
    assert judged_anew(kept, good, request=request, **shops) == 1


def test_whatever_is_asked_for_tells_a_result_from_others():
    key = partial(Cache.key, Cache(), str(FERRYHAND), shops=Shops())
    other = {
        "plan": FIXTURES / "ferryhand" / "ferryhand-nest.seams.toml",
        "before": FIXTURES / "ferryhand" / "ferryhand-digitised.svg",
        "sizes": ("40",),
    }
    keys = {key(request=Request())}
    asked = [field for field in dataclasses.fields(Request) if field.name != "given"]
    for field in asked:
        value = other.get(field.name, "other")
        keys.add(key(request=Request(**{field.name: value})))
    assert None not in keys
    assert len(keys) == 1 + len(asked)
    others = {key(request=Request(), shops=shops) for shops in (Shops(plugins=False), Shops(recipes=with_recipes))}
    assert len(keys | others) == len(keys) + 2


@pytest.mark.parametrize("changed", ["__version__", "sys", "_digest_of"])
def test_another_program_judges_anew(monkeypatch, changed):
    cache_module.program.cache_clear()
    before = cache_module.program()
    cache_module.program.cache_clear()
    with monkeypatch.context() as patch:
        if changed == "sys":
            patch.setattr(cache_module.sys, "version", "4.0")
        else:
            patch.setattr(cache_module, changed, (lambda _: "other") if changed == "_digest_of" else "99")
        assert cache_module.program() != before
    cache_module.program.cache_clear()
    assert cache_module.program() == before
    assert dict(one for one in before if isinstance(one, tuple))["numpy"]


def test_all_files_of_a_plugins_package_tell_it_from_others(tmp_path):
    package = tmp_path / "house"
    (package / "rules").mkdir(parents=True)
    for name in ("__init__.py", "rules/__init__.py", "rules/loops.py", "cloths.csv"):
        (package / name).write_text("")
    from seamcheck.engine.plugins import PluginInfo

    info = PluginInfo(name="house", package="house", version="1", file=str(package / "rules" / "loops.py"))

    def digest():
        return cache_module._plugin(info)

    digests = {digest()}
    for name in ("__init__.py", "cloths.csv"):
        (package / name).write_text("1400\n")
        digests.add(digest())
    assert len(digests) == 3
    assert cache_module._plugin(dataclasses.replace(info, version="2")) not in digests


def test_what_changes_while_it_is_judged_is_told_and_not_kept(styles, kept):
    short = styles / "short.svg"

    class Meanwhile(Counted):
        def __call__(self, paths):
            for result in super().__call__(paths):
                rewritten(short, "<svg", "<!-- --><svg")
                yield result

    judge = Meanwhile()
    (first,) = kept.judged([str(short)], judge.request, judge.shops, judge)
    assert first.findings
    assert not list(kept.folder.glob("??/*"))


def test_what_could_not_be_judged_whole_is_judged_again(styles, kept):
    (styles / "open.svg").write_text("<svg/>")
    assert judged_anew(kept, styles / "open.svg", styles / "gone.svg") == 2
    assert judged_anew(kept, styles / "open.svg", styles / "gone.svg") == 2


def test_a_shop_whose_plugin_fails_is_judged_anew(styles, kept):
    shops = with_house_rules(styles)
    (styles / "house.py").write_text("1 / 0")
    assert [judged_anew(kept, styles / "short.svg", **shops) for _ in range(2)] == [1, 1]


# whose it is, and what is in it


class Evil:
    def __reduce__(self):
        return os.mkdir, ("ran",)


def test_nothing_in_it_is_run(styles, kept, monkeypatch):
    monkeypatch.chdir(styles)
    (first,), _ = run(kept, "short.svg")
    (file,) = kept.folder.glob("??/*")
    good = file.read_bytes()
    for thing in (Evil(), Path("short.svg"), print, {"path": "short.svg"}):
        data = zlib.compress(pickle.dumps(thing))
        file.write_bytes(sha256(data).digest() + data)
        assert kept.kept(file.name, "short.svg") is None
    for data in (b"", good[:-1], good[:40], b"\0" * 100, good[:32] + zlib.compress(b"garbage")):
        file.write_bytes(data)
        assert kept.kept(file.name, "short.svg") is None
    assert run(kept, "short.svg") == ([first], 1)  # and is kept anew
    assert run(kept, "short.svg") == ([first], 0)
    assert not (styles / "ran").exists()


def test_the_result_of_another_file_is_not_taken(styles, kept):
    run(kept, styles / "short.svg")
    (file,) = kept.folder.glob("??/*")
    assert kept.kept(file.name, "other.svg") is None
    assert kept.kept(file.name, str(styles / "short.svg")) is not None


@pytest.mark.skipif(not hasattr(os, "geteuid"), reason="such a system has no such modes")
def test_a_folder_that_others_may_write_to_is_not_used(styles, kept):
    assert [judged_anew(kept, styles / "short.svg") for _ in range(2)] == [1, 0]
    assert kept.folder.stat().st_mode & 0o077 == 0
    kept.folder.chmod(0o777)
    assert judged_anew(kept, styles / "short.svg") == 1


def test_what_lies_beside_the_patterns_is_never_read(styles, tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "own"))
    before = sorted(styles.iterdir())
    CliRunner().invoke(main, ["check", str(styles)])
    assert sorted(styles.iterdir()) == before
    assert (
        (tmp_path / "own" / "seamcheck" / "results" / TAG[0]).read_bytes().startswith(b"Signature: 8a477f597d28d172")
    )


def test_a_folder_that_cannot_be_written_is_no_fault(styles, tmp_path):
    (tmp_path / "cache").write_text("a file, where the folder should be")
    cache = Cache(tmp_path / "cache" / "results")
    first, judged = run(cache, styles / "short.svg")
    assert judged == 1
    assert run(cache, styles / "short.svg") == (first, 1)


# its size, and two runs at once


def test_what_was_used_longest_ago_goes_first(styles, tmp_path):
    paths = []
    for k in range(6):
        for suffix in (".svg", ".seams.toml"):
            shutil.copy(styles / f"short{suffix}", styles / f"style{k}{suffix}")
        paths.append(styles / f"style{k}.svg")
    cache = Cache(tmp_path / "cache", MOST_BYTES)
    run(cache, *paths)
    files = list(cache.folder.glob("??/*"))
    size = max(file.stat().st_size for file in files)
    for k, file in enumerate(files):
        os.utime(file, (k, k))
    cache.most_bytes = round(5.4 * size)  # of which four are left, though they differ by some bytes
    assert judged_anew(cache, styles / "short.svg") == 1
    left = list(cache.folder.glob("??/*"))
    assert len(left) == 4
    assert not {*files[:3]} & {*left}
    assert judged_anew(cache, styles / "short.svg") == 0


def test_two_runs_at_once_keep_whole_files_and_say_the_same(styles, tmp_path):
    environment = os.environ | {"XDG_CACHE_HOME": str(tmp_path / "own")}
    command = [sys.executable, "-m", "seamcheck", "check", str(styles), "--jobs", "1"]
    both = [
        subprocess.Popen(command, env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE) for _ in range(2)
    ]
    told = {one.communicate() for one in both}
    assert len(told) == 1
    files = list((tmp_path / "own" / "seamcheck" / "results").glob("??/*"))
    assert len(files) == 2
    cache = Cache(tmp_path / "own" / "seamcheck" / "results")
    assert {Path(path).name for path in map(str, sorted(styles.glob("*.svg")))} == {
        Path(found.path).name
        for found in (cache_module._unpacked(cache_module._checked(file.read_bytes())) for file in files)
        if found
    }
    assert cache._is_own()


def test_a_run_may_do_without_it(styles, tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "own"))
    options = ["check", str(styles), "--format", "json"]
    bare = CliRunner().invoke(main, [*options, "--no-cache"])
    assert not (tmp_path / "own").exists()
    first, again = (CliRunner().invoke(main, options) for _ in range(2))
    assert bare.stdout == first.stdout == again.stdout
    assert bare.exit_code == first.exit_code == again.exit_code == 1


def test_what_a_report_tells_of_a_result_is_kept_for_all_that_it_hangs_on(styles, kept):
    paths = [str(path) for path in sorted(styles.glob("*.svg"))]
    made = []

    def told(cache, results, what="html", whole=True):
        made.clear()
        judge = Counted()
        found = results or list(cache.judged(paths, judge.request, judge.shops, judge, whole=whole))
        return found, [
            cache.text(one, what, lambda one=one: made.append(one.path) or f"{one.path} \ud800") for one in found
        ]

    results, texts = told(kept, None)
    assert (texts, made) == ([f"{path} \ud800" for path in paths], paths)
    assert told(kept, results) == (results, texts)
    assert made == []
    assert told(Cache(kept.folder), None) == (results, texts)  # another run
    assert made == []
    told(kept, results, what=("html", 2))
    assert made == paths
    changed = [dataclasses.replace(one, recorded_as="another") for one in results]
    told(kept, changed)
    assert made == paths  # what was changed since it was judged is no result of this run
    told(Cache(kept.folder), None, whole=False)
    assert made == paths
    for file in kept.folder.glob("??/*"):
        file.write_bytes(file.read_bytes()[:-1] + b"!")
    assert told(Cache(kept.folder), None) == (results, texts)
    assert made == paths


@pytest.mark.parametrize(
    ("form", "drawn"), [("html", "html.page._section"), ("svg", "figures.sheet._drawn"), ("json", "json.file_json")]
)
def test_a_page_of_many_styles_is_put_together_from_what_was_drawn_before(styles, tmp_path, monkeypatch, form, drawn):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "home"))
    module, _, name = f"seamcheck.report.{drawn}".rpartition(".")
    real = getattr(importlib.import_module(module), name)
    asked = []
    monkeypatch.setattr(
        importlib.import_module(module), name, lambda *of, **more: asked.append(of) or real(*of, **more)
    )

    def told(*options):
        asked.clear()
        result = CliRunner().invoke(main, ["check", str(styles), "--format", form, *options])
        return result.exit_code, result.stdout, len(asked)

    code, page, drawn_first = told()
    assert drawn_first == 2
    assert told() == (code, page, 0)
    assert told("--no-cache") == (code, page, 2)
    plan = next(styles.glob("short*.seams.toml"))
    plan.write_text(f"{plan.read_text()}# looked at\n")
    assert told() == (code, page, 1)
    record = tmp_path / "known.json"
    CliRunner().invoke(main, ["check", str(styles), "--record", str(record)])
    _, known, _ = told("--only-new", str(record))
    assert "known" in known.replace('"known": null', "").replace('"known": false', "")
    assert known != page
    assert told() == (code, page, 0)
