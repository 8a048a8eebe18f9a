import gc
import subprocess
import sys
import weakref
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import replace
from pathlib import Path

import pytest
from trusted_folders import trust_folder

from seamcheck.config import settings
from seamcheck.config.settings import load_settings
from seamcheck.engine.jobs import _spread, judge_files, process_count
from seamcheck.engine.read import Request
from seamcheck.engine.result import FileResult
from seamcheck.engine.workspace import Shops
from seamcheck.testing import FAULTS, good_draft


@pytest.fixture
def paths(tmp_path):
    """Three patterns: good, with a short side, and one that is not there."""
    good = good_draft()
    short = FAULTS["short-side"].change(replace(good, name="short"))
    return [
        str(good.save(tmp_path)),
        str(short.save(tmp_path)),
        str(tmp_path / "gone.svg"),
    ]


def told(results):
    return [(len(result.findings), bool(result.failures)) for result in results]


def test_results_are_the_same_and_in_order_however_many_work(paths):
    alone = list(judge_files(paths, Request(), jobs=1))
    assert told(alone) == [(0, False), (1, False), (0, True)]
    assert "gone.svg" in alone[2].failures[0]
    assert list(judge_files(paths, Request(), jobs=2)) == alone
    with ThreadPoolExecutor(2) as executor:
        assert list(judge_files(paths, Request(), executor=executor)) == alone
        assert executor.submit(int).result() == 0  # it is left open


def test_the_geometry_of_a_result_comes_along_where_it_is_asked_for(paths):
    (plain,) = judge_files(paths[:1], Request(), jobs=1)
    assert plain.geometry is None
    near, far = (next(judge_files(paths, Request(geometry=True), jobs=jobs)) for jobs in (1, 2))
    assert near == far == plain  # it is no part of what was found
    assert near.geometry == far.geometry
    assert [walk.name for walk in near.geometry.walks] == [seam.name for seam in near.seams]
    assert [one.names for one in near.geometry.junctions] == [one.corners for one in near.junctions]


def test_the_first_to_finish_does_not_come_first(paths):
    tasks = []

    class Late(Future):
        """Is done only when it is asked, and then all that was submitted after it was done before it."""

        def __init__(self, work):
            super().__init__()
            self.work = work
            tasks.append(self)

        def result(self, timeout=None):
            for task in reversed(tasks):
                if not task.done():
                    task.set_result(task.work())
            return super().result(timeout)

    class Backwards(Executor):
        def submit(self, fn, /, *args, **kwargs):
            return Late(lambda: fn(*args, **kwargs))

    assert [result.path for result in judge_files(paths, Request(), executor=Backwards())] == paths


def test_a_process_that_ends_is_a_failure_of_its_files_alone(paths):
    class Dying(Executor):
        def __init__(self):
            self.left = 1

        def submit(self, fn, /, *args, **kwargs):
            if not self.left:
                raise BrokenProcessPool
            self.left -= 1
            future = Future()
            future.set_result(fn(*args, **kwargs))
            return future

    first, second, third = judge_files(paths, Request(), executor=Dying())
    assert first.failures == ()
    for result in (second, third):
        assert result.failures == (f"{result.path}: the process that judged it was ended from outside",)


def test_files_are_begun_a_few_ahead_and_results_let_go_once_given():
    class Held(FileResult):
        """A result of which it can be told whether anybody holds it."""

    given, begun = [], []

    def judge(path):
        result = Held(path=path)
        given.append(weakref.ref(result))
        return result

    class Eager(Executor):
        def submit(self, fn, /, *args, **kwargs):
            begun.append(args)
            future = Future()
            future.set_result(fn(*args, **kwargs))
            return future

    names = [f"{k}.svg" for k in range(20)]
    each = _spread(Eager(), names, judge, 4)
    for number, name in enumerate(names):
        assert next(each).path == name
        assert len(begun) == min(number + 4, 20)
        gc.collect()
        assert sum(held() is not None for held in given) == len(begun) - number - 1


def test_the_settings_of_a_folder_are_read_once(paths, monkeypatch):
    read = []

    def load(folder):
        read.append(folder)
        return load_settings(folder)

    monkeypatch.setattr(settings, "load_settings", load)
    shops = Shops()
    assert (
        told(judge_files([*paths, *paths], Request(), shops=shops, jobs=1)) == [(0, False), (1, False), (0, True)] * 2
    )
    assert len(read) == 1


def test_processes_are_forked_where_no_thread_runs_and_judge_as_others_do(paths):
    code = (
        "import os, sys, threading\n"
        "os.environ['OPENBLAS_NUM_THREADS'] = '1'\n"
        "from seamcheck.engine import jobs\n"
        "from seamcheck.engine.read import Request\n"
        "def judged():\n"
        "    alone = jobs._is_alone()\n"
        "    found = [(one.path, len(one.findings)) for one in jobs.judge_files(sys.argv[1:], Request(), jobs=2)]\n"
        "    return alone, found\n"
        "if __name__ == '__main__':\n"
        "    first, found = judged()\n"
        "    end = threading.Event()\n"
        "    threading.Thread(target=end.wait).start()\n"
        "    second, again = judged()\n"
        "    end.set()\n"
        "    assert found == again == [(path, number) for path, number in zip(sys.argv[1:], (0, 1, 0))]\n"
        "    print(first, second)\n"
    )
    script = Path(paths[0]).with_name("script.py")
    script.write_text(code)
    done = subprocess.run([sys.executable, script, *paths], capture_output=True, text=True, check=True)
    assert done.stdout.split() == [str(sys.platform == "linux"), "False"]


def test_a_plugin_brings_its_rules_to_every_process(paths, tmp_path, capfd):
    (tmp_path / "our_rules.py").write_text(
        "print('a plugin chatters')\ndef seamcheck_register_checks(register):\n    raise KeyError('tape')\n"
    )
    (tmp_path / "seamcheck.toml").write_text('plugins = ["our_rules.py"]\n')
    trust_folder(tmp_path)
    for result in judge_files(paths[:2], Request(), jobs=2):
        assert 'plugin "our_rules" fails' in result.failures[0]
    out, err = capfd.readouterr()
    assert out == ""
    assert err.count("a plugin chatters") in (1, 2)  # one process may have judged both before the other had begun
    for result in judge_files(paths[:1], Request(), shops=Shops(plugins=False)):
        assert '"our_rules" that the settings ask for was left out' in result.failures[0]


def test_processes_are_started_only_where_they_pay(tmp_path):
    small = [tmp_path / f"{k}.svg" for k in range(20)]
    for path in small:
        path.write_bytes(b" " * 1000)
    large = tmp_path / "large.dxf"
    large.write_bytes(b" " * 3_000_000)
    assert process_count([str(small[0])], 8) == 1
    assert process_count([str(path) for path in small[:3]], 8) == 1
    assert process_count([str(path) for path in small], 8) == 5
    assert process_count([str(path) for path in small], 2) == 2
    assert process_count([str(large)], 8) == 1
    assert process_count([str(large), str(small[0])], 8) == 2
    assert process_count([str(tmp_path / "gone.svg")], 8) == 1
    assert process_count([], 8) == 1
