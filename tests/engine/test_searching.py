import pytest
from click.testing import CliRunner

from seamcheck.cli.main import main
from seamcheck.engine.searching import Search, is_mask
from seamcheck.engine.workspace import Shops
from seamcheck.testing import good_draft


@pytest.fixture
def shop(tmp_path, monkeypatch):
    """A folder of styles as a shop has it, with what tools have left there."""
    good = good_draft()
    for folder in ("", "spring", "spring/old", "build", "spring/node_modules/kit", ".git", "tools/env", "a [b]"):
        (tmp_path / folder).mkdir(parents=True, exist_ok=True)
        good.save(tmp_path / folder)
    (tmp_path / "tools" / "env" / "pyvenv.cfg").write_text("")
    monkeypatch.chdir(tmp_path)
    (name,) = (path.name for path in tmp_path.glob("*.svg"))
    return name


def meant(*named, excluded=(), planned=False):
    search = Search(tuple(excluded))
    files, _ = Shops().meant(named, planned=planned, search=search)
    return set(files), set(search.left_out)


def test_what_tools_made_is_not_looked_into_and_that_is_told(shop):
    files, left_out = meant(".")
    assert files == {shop, f"spring/{shop}", f"spring/old/{shop}", f"a [b]/{shop}"}
    assert left_out == {"build", "spring/node_modules", "tools/env"}  # what is hidden goes without saying


@pytest.mark.parametrize("folder", ["build", "spring/node_modules", ".git", "tools/env"])
def test_a_folder_that_is_named_is_looked_into(shop, folder):
    files, left_out = meant(folder)
    assert len(files) == 1
    assert not left_out


def test_what_is_excluded_by_name_or_by_path_is_left_out_and_told(shop):
    old = f"spring/old/{shop}"
    for mask in ("old", "o*d", "spring/old", "spring/o*"):
        files, left_out = meant("spring", excluded=[mask])
        assert files == {f"spring/{shop}"}
        assert left_out == {"spring/old", "spring/node_modules"}
    assert meant("spring", excluded=["spring/old/*.svg"])[0] == {f"spring/{shop}"}
    assert meant("spring", excluded=["spring"]) == (set(), {"spring"})
    assert meant(old, excluded=["*.svg"]) == (set(), {old})  # also where it is named, as pre-commit names files
    assert meant("spring", excluded=["*.dxf"])[0] == {f"spring/{shop}", old}


def test_a_pattern_in_quotes_stands_for_what_it_matches(shop):
    below = {shop, f"spring/{shop}", f"spring/old/{shop}", f"a [b]/{shop}"}
    files, left_out = meant("**/*.svg")
    assert files == below
    assert left_out == {"build", "spring/node_modules", "tools/env"}
    assert meant("**/*.svg", excluded=["old"])[0] == below - {f"spring/old/{shop}"}
    assert meant("build/*.svg")[0] == {f"build/{shop}"}
    assert meant("sp*")[0] == {f"spring/{shop}", f"spring/old/{shop}"}
    assert meant(f"{shop[:-5]}?.svg")[0] == {shop}
    assert meant("**/*.seams.toml")[0] == below


def test_a_name_with_such_signs_that_is_there_is_itself(shop):
    assert not is_mask("a [b]")
    assert meant("a [b]")[0] == {f"a [b]/{shop}"}


def test_a_pattern_that_matches_nothing_fails(shop):
    result = CliRunner().invoke(main, ["check", "winter/*.svg", shop])
    assert result.exit_code == 2
    assert "winter/*.svg: no file has a name like this; check the name and the folder" in result.stderr
    assert "nothing to put right" in result.stdout


def test_what_is_left_out_is_told_on_stderr(shop):
    result = CliRunner().invoke(main, ["check", ".", "--exclude", "spring/"])
    assert result.exit_code == 0
    assert "seamcheck: not looked into: build, spring, tools/env\n" in result.stderr
    assert "2 files" in result.stdout
    result = CliRunner().invoke(main, ["check", shop, "--exclude", "*.svg"])
    assert f"seamcheck: not looked into: {shop}\n" in result.stderr
