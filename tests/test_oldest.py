"""Every library that the program needs says its oldest version, so that `.ci/oldest` can try just that."""

import tomllib

import pytest
from oldest import PROJECT, constraints, oldest


def test_every_dependency_is_tried_at_its_lower_bound():
    wanted = tomllib.loads(PROJECT.read_text(encoding="utf-8"))["project"]["dependencies"]
    lines = constraints().splitlines()
    assert len(lines) == len(wanted) > 0
    for line, dependency in zip(lines, wanted, strict=True):
        name, _, version = line.partition("==")
        assert dependency.startswith(name)
        assert version in dependency


def test_bounds_are_read_with_extras_and_upper_bounds():
    assert oldest(["one>=1.2", "two[more]>=3,<4", 'three >= 5.0.1 ; python_version < "4"']) == [
        "one==1.2",
        "two==3",
        "three==5.0.1",
    ]


@pytest.mark.parametrize("dependency", ["one", "one==1.2", "one<2"])
def test_a_dependency_without_an_oldest_version_is_refused(dependency):
    with pytest.raises(ValueError, match="says no oldest version"):
        oldest([dependency])


def test_every_extra_says_its_oldest_versions():
    extras = tomllib.loads(PROJECT.read_text(encoding="utf-8"))["project"]["optional-dependencies"]
    assert {"cluster", "test", "train"} <= set(extras)
    for dependencies in extras.values():
        assert len(oldest(dependencies)) == len(dependencies) > 0
