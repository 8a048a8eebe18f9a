from concurrent.futures import Executor, Future, ThreadPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import replace

import pytest

from seamcheck.engine.jobs import judge_files, process_count
from seamcheck.engine.read import Request
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


def test_a_plugin_brings_its_rules_to_every_process(paths, tmp_path, capfd):
    (tmp_path / "our_rules.py").write_text(
        "print('a plugin chatters')\ndef seamcheck_register_checks(register):\n    raise KeyError('tape')\n"
    )
    (tmp_path / "seamcheck.toml").write_text('plugins = ["our_rules.py"]\n')
    for result in judge_files(paths[:2], Request(), jobs=2):
        assert 'plugin "our_rules" fails' in result.failures[0]
    out, err = capfd.readouterr()
    assert (out, err.count("a plugin chatters")) == ("", 2)
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
