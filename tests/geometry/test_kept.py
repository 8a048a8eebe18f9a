"""Measures that are worked out once."""

import gc
import pickle
import weakref
from dataclasses import replace

import pytest

from seamcheck.geometry.curve import Curve
from seamcheck.geometry.kept import Measured, kept
from seamcheck.pattern.model import Edge


class Thing(Measured):
    """What is measured here."""

    __slots__ = ("__weakref__",)


def counted():
    """A measure, and the arguments that it was worked out for."""
    asked = []

    @kept
    def measure(thing, factor, word):
        """How often it was asked."""
        asked.append((factor, word))
        return [len(asked)]

    return measure, asked


def test_a_measure_is_worked_out_once_for_the_same_arguments():
    measure, asked = counted()
    thing = Thing()
    assert [measure(thing, 2.0, "a") for _ in range(3)] == [[1]] * 3
    assert measure(thing, 3.0, "a") == [2]
    assert measure(thing, 2.0, "b") == [3]
    assert asked == [(2.0, "a"), (3.0, "a"), (2.0, "b")]


def test_two_measures_of_one_thing_are_kept_apart():
    thing = Thing()
    one, other = (kept(lambda thing, number=number: number) for number in (1, 2))
    assert [one(thing), other(thing), one(thing)] == [1, 2, 1]


def test_another_thing_is_measured_anew_even_where_it_is_equal():
    measure, asked = counted()
    line = Curve.line(0, 10)
    same = Curve.line(0, 10)
    assert line == same
    assert measure(line, 1.0, "") != measure(same, 1.0, "")
    assert len(asked) == 2


def test_what_was_measured_goes_with_the_thing_even_where_it_holds_it():
    holds = kept(lambda thing: [thing])
    thing = Thing()
    assert holds(thing) == [thing]
    gone = weakref.ref(thing)
    del thing
    gc.collect()
    assert gone() is None


def test_a_measure_that_fails_fails_again():
    @kept
    def failing(thing):
        raise KeyError("no corner")

    thing = Thing()
    for _ in range(2):
        with pytest.raises(KeyError, match="no corner"):
            failing(thing)


def test_a_changed_edge_is_measured_anew_and_measures_are_not_written():
    edge = Edge(name="hem", start="a", end="b", runs=(Curve.line(0, 100),))
    assert edge.direction(50.0) == (1 + 0j, 0.0)
    turned = replace(edge, runs=(Curve.line(0, 100j),))
    assert turned.direction(50.0) == (1j, 0.0)
    read = pickle.loads(pickle.dumps(edge))
    assert read == edge
    assert not hasattr(read, "_measures")
