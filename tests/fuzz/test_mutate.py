"""A short run of the fuzzer with a fixed seed; the long one is started by hand."""

import mutate
import pytest

# Only files of the project: the same files for everyone give the same run.
FILES = [path for path in mutate.sources() if mutate.CHECKOUT in path.parents]


@pytest.mark.parametrize("seed", range(60))
def test_a_spoiled_file_ends_in_a_result_or_one_sentence(seed, tmp_path):
    (tmp_path / "work").mkdir()
    outcome = mutate.run(mutate.spoiled(seed, FILES, tmp_path / "work"), seed)
    assert outcome.fault == ""
    assert outcome.warned == ""


def test_a_seed_always_gives_the_same_file(tmp_path):
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    for seed in (1, 2, 3):
        first, second = (mutate.spoiled(seed, FILES, tmp_path / name) for name in ("a", "b"))
        assert first.name == second.name
        assert first.read_bytes() == second.read_bytes()
