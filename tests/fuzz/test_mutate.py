"""A slice of the fuzzing with fixed seeds, bounded by its number and not by a clock; long runs are started by hand."""

import random
import tomllib
from xml.etree import ElementTree

import guided
import mutate
import pytest
import structures
from spoil import SPOIL

# Only files of the project: the same files for everyone give the same run.
FILES = [path for path in mutate.sources() if mutate.CHECKOUT in path.parents]


@pytest.mark.parametrize("seed", range(400))
def test_whatever_is_spoiled_ends_in_a_result_or_one_sentence(seed, tmp_path):
    """Processor time is no part of it: a test asserts no time."""
    outcome = mutate.run(mutate.spoiled(seed, FILES, tmp_path), seed)
    assert (outcome.fault, outcome.warned) == ("", ""), outcome.command


@pytest.mark.parametrize("name", guided.TARGETS)
def test_a_reader_refuses_what_is_spoiled_in_its_own_words(name):
    """As the guided run reads it, but led by nothing: that one is started by hand, for it needs atheris."""
    target = guided.TARGETS[name]
    trial = guided.Trial(target)
    seeds = list(target.seeds())
    rng = random.Random(name)
    for _ in range(1500 if target.longest < 1500 else 400):
        data = rng.choice(seeds)
        for _ in range(rng.choice((1, 1, 2, 4))):
            if rng.random() < 0.3:
                at = rng.randrange(len(data) + 1)
                data = data[:at] + rng.choice(target.words).encode() + data[at:]
            else:
                data = rng.choice(list(SPOIL))(data, rng) or b" "
        trial.take(data[: target.longest])
    del trial.faults[f"over {guided.SLOW:.0f} s"]
    assert trial.faults == {}
    assert 0 < trial.refused < trial.count


def test_a_seed_always_gives_the_same_folder_and_command(tmp_path):
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    for seed in range(5):
        first, second = (mutate.spoiled(seed, FILES, tmp_path / name) for name in ("a", "b"))
        assert mutate.command(seed, first) == mutate.command(seed, second)
        for one in first.parent.iterdir():
            assert one.read_bytes() == (second.parent / one.name).read_bytes()


@pytest.mark.parametrize("suffix", [".svg", ".dxf", ".toml"])
def test_what_is_spoiled_as_what_it_is_stays_that_and_below_a_megabyte(suffix):
    files = sorted(path for folder in mutate.FOLDERS[:3] for path in folder.glob(f"*{suffix}"))
    changed = 0
    for seed in range(60):
        rng = random.Random(seed)
        data = before = rng.choice(files).read_bytes()
        for _ in range(4):
            data = structures.SPOILERS[suffix](data, rng) or data
        changed += data != before
        assert len(data) < max(1_100_000, 2 * len(before))
        if suffix == ".svg":
            ElementTree.fromstring(data)
        elif suffix == ".toml":
            tomllib.loads(data.decode())
        else:
            assert len(data.split(b"\n")) % 2 == 1
    assert changed > 50


def test_what_a_command_says_is_looked_at():
    """Each of these is a failure of the program, and is found."""
    said = "seamcheck: a.svg: there is no such file\n"
    check = ["check", "a.svg", "--format", "json"]
    assert mutate._wrong(check, 2, "", said) == ""
    assert mutate._wrong(check, 3, "", said) == "exit code 3"
    assert "itself failed" in mutate._wrong(check, 2, "", "seamcheck: a.svg: seamcheck itself failed (KeyError)\n")
    assert "Traceback" in mutate._wrong(check, 1, "", "Traceback (most recent call last):\n")
    assert "nothing is said" in mutate._wrong(check, 2, "", "")
    assert "told as json is no json" in mutate._wrong(check, 0, '{"a": NaN}', "")
    assert "told as svg is no svg" in mutate._wrong(["pieces", "a.svg", "--format", "svg"], 0, "<svg", "")
    assert "told as toml is no toml" in mutate._wrong(["pair", "a.svg", "--format", "toml"], 0, "format = 2\n", "")
    slow = mutate.Outcome("check a.svg", 0, seconds=6.0, memory=600.0, size=1000)
    assert mutate.faults_of(slow) == {"slow": "6.0 s", "large": "600 MB"}
    assert mutate.faults_of(slow._replace(size=2_000_000)) == {}
