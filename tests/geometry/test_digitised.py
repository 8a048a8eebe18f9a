"""How sure a break of a digitised line is, where the line says nothing of its own unsteadiness."""

import numpy as np

from seamcheck.geometry.digitised import _Look


def look(turn, turn_error):
    """Three chords of 10 mm with what is seen at each; the middle one lies as far from the ends as is needed."""
    zeros, beyond = np.zeros(3), np.array([0.0, 99.0, 0.0])
    values = dict.fromkeys(_Look._fields, zeros) | {
        "stations": np.array([0.0, 10.0, 20.0]),
        "chords": np.full(3, 10.0),
        "turn": np.array([0.0, turn, 0.0]),
        "turn_error": np.array([0.0, turn_error, 0.0]),
        "beyond": beyond,
    }
    return _Look(**values)


def test_where_chords_lie_on_one_line_to_the_last_bit_there_is_no_break():
    kinks, steps = look(turn=0.0, turn_error=0.0).sure(0.02, 0.5)
    assert kinks.tolist() == [0.0, 0.0, 0.0]
    assert steps.tolist() == [0.0, 0.0, 0.0]


def test_a_kink_counts_in_its_standard_errors_and_without_end_where_nothing_is_unsteady():
    assert look(turn=-0.1, turn_error=0.02).sure(0.02, 0.5)[0].tolist() == [0.0, 5.0, 0.0]
    assert look(turn=0.1, turn_error=0.0).sure(0.02, 0.5)[0].tolist() == [0.0, np.inf, 0.0]
    assert look(turn=0.01, turn_error=0.001).sure(0.02, 0.5)[0].tolist() == [0.0, 0.0, 0.0]
