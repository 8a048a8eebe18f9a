"""Judging on a cluster: a real scheduler and two workers of dask.distributed, and the worker's side alone without any."""

import os
import pickle
import signal
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner
from trusted_folders import trust_folder

import seamcheck
from seamcheck.cli.main import main
from seamcheck.config.settings import VARIABLE
from seamcheck.engine import cluster
from seamcheck.engine.cluster import Batch, judge_batch, judge_on
from seamcheck.engine.read import Request
from seamcheck.engine.workspace import Shops
from seamcheck.errors import SeamcheckError
from seamcheck.testing import FAULTS, good_draft
from seamcheck.version import __version__

LOOKALIKES = Path(__file__).parents[2] / "fixtures" / "lookalikes"
DEADLY = """
import os
from seamcheck.plugin import Check, Code, Severity
def run(context):
    if context.pattern.path.endswith("deadly.svg"):
        os._exit(1)
    return ()
def seamcheck_register_checks(register):
    register(Check(
        name="deadly", family="house", meaning="nobody dies", why="it must", remedy="wait", source="invented",
        codes=(Code(name="dead", meaning="it died", message="It died.", advice="Wait.", severity=Severity.NOTE),),
        run=run,
    ))
"""


def drafts(folder, names):
    """Patterns of these names, every fifth with a short side."""
    paths = []
    for k, name in enumerate(names):
        draft = replace(good_draft(), name=name)
        paths.append(str((FAULTS["short-side"].change(draft) if k % 5 == 2 else draft).save(folder)))
    return paths


# The worker's side


def batch(folder, names, *, send="bytes", shops=None):
    """A batch as it is sent from a folder, to a machine that does not have it unless the paths are sent."""
    run = cluster._Cluster(None, "", Request(), shops or Shops(), send)
    held = {}
    for name in names if send == "bytes" else ():
        held |= run._bytes_of(name)
    installed = cluster._installed(run.shops.tolerant(names[0])[1])
    sent = Batch(
        paths=tuple(names),
        request=Request(),
        shops=run.shops.sent(names),
        version=__version__,
        installed=installed,
        folder=str(folder),
        held=held if send == "bytes" else None,
    )
    return pickle.loads(pickle.dumps(sent))


def judged(sent):
    return [pickle.loads(answer) for answer in judge_batch(sent)]


@pytest.fixture
def shop(tmp_path, monkeypatch):
    """A folder of patterns and another to be elsewhere in."""
    here, elsewhere = tmp_path / "shop", tmp_path / "elsewhere"
    here.mkdir()
    elsewhere.mkdir()
    monkeypatch.chdir(here)
    return here, elsewhere


@pytest.mark.parametrize("send", ["bytes", "paths"])
def test_names_stay_those_of_the_run_wherever_the_files_lie(shop, monkeypatch, send):
    here, elsewhere = shop
    names = [os.path.relpath(path) for path in drafts(here, ["a", "b", "c"])]
    alone = list(seamcheck.check_each(names))
    sent = batch(here, names, send=send)
    if send == "bytes":
        for file in here.iterdir():
            file.unlink()
    monkeypatch.chdir(elsewhere)
    assert judged(sent) == alone
    assert [file.path for file in alone] == names
    assert [len(file.findings) for file in alone] == [0, 0, 1]
    assert list(elsewhere.iterdir()) == []


def test_a_rule_table_goes_with_the_drawings_that_name_it(shop, monkeypatch):
    here, elsewhere = shop
    for name in ("sparse.dxf", "sparse.rul"):
        (here / name).write_bytes((LOOKALIKES / name).read_bytes())
    (here / "of-another.rul").write_bytes(b"?")
    alone = list(seamcheck.check_each("sparse.dxf"))
    sent = batch(here, ["sparse.dxf"])
    assert {Path(name).name for name in sent.held} == {"sparse.dxf", "sparse.rul"}
    monkeypatch.chdir(elsewhere)
    assert judged(sent) == alone
    assert len(alone[0].sizes) > 1


def test_what_a_worker_lacks_is_told(shop, monkeypatch):
    here, elsewhere = shop
    (name,) = [os.path.relpath(path) for path in drafts(here, ["a"])]
    sent = batch(here, [name], send="paths")
    (older,) = judged(replace(sent, version="0.0.1"))
    assert older.failures[0].startswith(
        f"a.svg: a worker has seamcheck {__version__} and not 0.0.1; install the same"
    )
    (other,) = judged(replace(sent, installed=(("house-rules", "house-rules", "1.0"),)))
    assert "a worker has not the same plugins installed (house-rules); install the same" in other.failures[0]
    (unseen,) = judged(replace(sent, folder=str(elsewhere)))
    assert "a worker does not see this file; share its folder" in unseen.failures[0]
    assert "--send bytes" in unseen.failures[0]


def test_settings_and_plugins_are_those_of_the_run_and_not_the_workers(shop, monkeypatch):
    here, elsewhere = shop
    (name,) = [os.path.relpath(path) for path in drafts(here, ["a"])]
    (here / "ours.py").write_text(DEADLY)
    (here / "seamcheck.toml").write_text('plugins = ["ours.py"]\n')
    trust_folder(here)
    sent = batch(here, [name])
    # The worker's own user trusts nothing, and names settings of their own.
    (elsewhere / "theirs.toml").write_text("units = 7\n")
    monkeypatch.setenv(VARIABLE, str(elsewhere / "theirs.toml"))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(elsewhere))
    (result,) = judged(sent)
    assert result.failures == ()
    assert "deadly" in result.checks
    assert result.plugin_files == (str(here / "ours.py"),)


def test_a_worker_runs_no_other_plugin_file_than_the_one_that_lies_where_the_run_was_started(shop):
    here, _ = shop
    (name,) = drafts(here, ["a"])
    (here / "ours.py").write_text(DEADLY)
    (here / "mine.toml").write_text('plugins = ["ours.py"]\n')
    sent = batch(here, [name], send="paths", shops=Shops(settings=str(here / "mine.toml")))
    later = pickle.loads(pickle.dumps(sent))
    assert judged(sent)[0].failures == ()
    (here / "ours.py").write_text("raise SystemExit('another program')\n")
    (failure,) = judged(later)[0].failures
    assert "was changed since it was trusted, so it was not run" in failure


# A cluster

distributed = pytest.importorskip("distributed", reason="dask.distributed is not installed (extra: cluster)")
ignored = pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::ResourceWarning", "ignore::UserWarning")
pytestmark = ignored


@pytest.fixture(scope="module")
def started():
    """Two workers, each a process of its own that is begun anew when it dies."""
    import dask

    with (
        dask.config.set({"distributed.scheduler.allowed-failures": 0}),
        distributed.LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as local,
    ):
        yield local


@pytest.mark.parametrize("send", ["bytes", "paths"])
def test_all_results_come_once_each_and_in_order_though_a_worker_is_killed(started, tmp_path, send):
    paths = [*drafts(tmp_path, [f"style-{k:02}" for k in range(39)]), str(tmp_path / "gone.svg")]
    alone = list(seamcheck.check_each(paths))
    came = []
    # The batch that a worker takes with it is tried again: no failure is allowed, so file by file.
    for result in seamcheck.check_each(paths, scheduler=started.scheduler_address, send=send):
        came.append(result)
        if len(came) == 10:
            with distributed.Client(started.scheduler_address, set_as_default=False) as client:
                os.kill(min(client.run(os.getpid).values()), signal.SIGKILL)
    assert [result.path for result in came] == paths
    assert came == alone


def test_only_the_file_that_ends_its_workers_is_named(started, tmp_path):
    paths = drafts(tmp_path, ["a", "b", "c", "deadly", "e", "f"])
    (tmp_path / "ours.py").write_text(DEADLY)
    (tmp_path / "mine.toml").write_text('plugins = ["ours.py"]\n')
    arguments = ["check", *paths, "--settings", str(tmp_path / "mine.toml"), "--format", "table"]
    result = CliRunner().invoke(main, [*arguments, "--scheduler", started.scheduler_address])
    assert result.exit_code == 2
    told = [line for line in result.stderr.splitlines() if "was run" not in line]
    assert told == [f"seamcheck: {paths[3]}: the workers that judged it were lost, one after another"]
    assert result.stdout.count('"kind": "failure"') == 1
    assert all(Path(path).name in result.stdout for path in paths)


def test_a_run_that_is_broken_off_leaves_nothing_on_the_cluster(started, tmp_path):
    paths = drafts(tmp_path, [f"style-{k:02}" for k in range(20)])
    each = seamcheck.check_each(paths, scheduler=started.scheduler_address)
    assert next(each).path == paths[0]
    each.close()
    with distributed.Client(started.scheduler_address, set_as_default=False) as client:
        for _ in range(100):
            tasks = client.run_on_scheduler(lambda dask_scheduler: len(dask_scheduler.tasks))
            if not tasks:
                break
            client.run(__import__("time").sleep, 0.1)
    assert tasks == 0


def test_without_any_worker_the_files_are_told_as_not_judged(tmp_path, monkeypatch):
    monkeypatch.setattr(cluster, "PATIENCE", 0.2)
    monkeypatch.setattr(cluster, "LOOK", 0.1)
    paths = drafts(tmp_path, ["a", "b"])
    with distributed.LocalCluster(n_workers=0, processes=False, dashboard_address=None) as none:
        results = list(judge_on(none.scheduler_address, paths, Request(), Shops()))
    for path, result in zip(paths, results, strict=True):
        assert result.failures == (f"{path}: no worker is left at {none.scheduler_address}, so it was not judged",)


def test_where_no_scheduler_answers_one_sentence_says_so(tmp_path, monkeypatch):
    monkeypatch.setattr(cluster, "CONNECT", 0.2)
    (path,) = drafts(tmp_path, ["a"])
    with pytest.raises(SeamcheckError, match=r"no scheduler answers at tcp://127.0.0.1:9 .*; look at the address"):
        next(judge_on("tcp://127.0.0.1:9", [path], Request(), Shops()))
    result = CliRunner().invoke(main, ["check", path, "--scheduler", "nowhere"])
    assert result.exit_code == 2
    assert result.stderr.count("\n") == 1
    result = CliRunner().invoke(main, ["check", path, "--scheduler", "tcp://127.0.0.1:9", "--jobs", "2"])
    assert "--jobs is for this machine" in result.stderr
