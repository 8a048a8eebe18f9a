"""Which lines are taken for alike, and how a seam of classes lies on the lines that are drawn."""

from made_pieces import pattern, rectangle

from seamcheck.pairing.alike import Classes
from seamcheck.pairing.lines import Use, survey


def classes_of(*pieces):
    return Classes(*survey(pattern(*pieces).pieces))


def skew(name, **more):
    """A four-sided piece that is not symmetric."""
    return {"name": name, "outline": [0j, 300 + 0j, 340 + 200j, 0 + 260j], **more}


def other_hand(piece, name):
    flipped = [complex(-at.real, at.imag) for at in piece["outline"]]
    return {**piece, "name": name, "outline": flipped[::-1]}


def test_the_two_halves_of_a_symmetric_piece_are_alike():
    classes = classes_of(rectangle("Panel", 300, 400))
    assert sorted(map(len, classes.members.values())) == [2, 2]
    assert classes.either_way == {0, 1, 2, 3}


def test_a_piece_of_no_symmetry_is_like_no_part_of_itself():
    classes = classes_of(skew("Panel"))
    assert all(len(own) == 1 for own in classes.members.values())
    assert not classes.either_way


def test_left_and_right_are_alike_and_front_and_back_are_not():
    hands = classes_of(skew("Front left"), other_hand(skew("x"), "Front right"))
    assert all(len(own) == 2 for own in hands.members.values())
    assert len(hands.twins) == 1
    ways = classes_of(skew("Front"), other_hand(skew("x"), "Back"))
    assert all(len(own) == 1 for own in ways.members.values())


def test_a_seam_of_both_hands_is_spread_left_to_left_and_right_to_right():
    left, slim = skew("Front left"), {"name": "Back left", "outline": [0j, 280 + 0j, 320 + 200j, 0 + 260j]}
    classes = classes_of(left, other_hand(left, "Front right"), slim, other_hand(slim, "Back right"))
    front, back = classes.parts[0].lines[-1], classes.parts[2].lines[-1]
    spread = list(classes.spread(((Use(front),), (Use(back, True),))))
    pieces = [
        tuple(classes.parts[classes.lines[use.line].piece].name for side in one for use in side) for one in spread
    ]
    assert pieces == [("Front left", "Back left"), ("Front right", "Back right")]
    assert spread[1][0][0].backwards  # the other hand is walked the other way round


def test_a_twin_is_the_edge_itself_or_the_other_of_two_that_are_drawn():
    alone = classes_of(skew("Back"))
    assert list(alone.spread(((Use(1),), (Use(1),)))) == [((Use(1),), (Use(1),))]
    panel = classes_of(rectangle("Tube", 300, 400))
    one, other = next(iter(panel.spread(((Use(1),), (Use(1),)))))
    assert {one[0].line, other[0].line} == {1, 3}


def test_a_row_of_like_panels_takes_each_of_them_once():
    panels = [rectangle(f"Panel {k}", 100, 300, cut="") for k in range(1, 4)]
    classes = classes_of(*panels, rectangle("Band", 300, 40))
    top = min(k for k, line in enumerate(classes.lines) if abs(line.length - 100) < 1)
    like = list(classes.members[classes.root(top)])
    row = tuple(Use(classes.root(top)) for _ in like)
    spread = next(iter(classes.spread((row, (Use(classes.parts[3].lines[0], True),)))))
    assert len({use.line for use in spread[0]}) == len(like)


def lines_of_spread(classes, first, second):
    """The lines on the second side, for each time that a seam of the first lines of two pieces is drawn."""
    a, b = (classes.root(classes.parts[piece].lines[line]) for piece, line in (first, second))
    return [one[1][0].line for one in classes.spread(((Use(a),), (Use(b, True),)))]


def test_a_seam_lies_on_one_side_of_a_band_that_is_cut_once():
    # Either long side of the band may be sewn, and only one of them is.
    classes = classes_of(skew("Skirt", cut="Cut 1"), rectangle("Band", 300, 40, cut="Cut 1"))
    assert len(lines_of_spread(classes, (0, 0), (1, 0))) == 1


def test_a_seam_lies_on_both_sides_of_a_whole_panel_where_its_mate_is_cut_twice():
    classes = classes_of(skew("Back", cut="Cut 2"), rectangle("Front", 300, 260, cut="Cut 1"))
    assert len(set(lines_of_spread(classes, (0, 3), (1, 1)))) == 2


def test_a_seam_lies_on_one_end_of_a_strip_that_is_cut_for_each_hand():
    classes = classes_of(skew("Facing back", cut="Cut 1 on fold"), rectangle("Facing front", 300, 260, cut="Cut 2"))
    assert len(lines_of_spread(classes, (0, 3), (1, 1))) == 1


def test_copies_are_counted_over_all_pieces_of_a_class():
    assert classes_of(skew("Gore", cut="Cut 6")).copies(0) == 6
    assert classes_of(skew("Gore")).copies(0) is None


def test_the_fold_of_a_half_is_like_none_of_its_other_edges():
    half = rectangle("Band", 400, 60, cut="Cut 1 on fold")
    classes = classes_of(half)
    folds = [line.index for line in classes.lines if line.fold]
    assert all(len(classes.members[classes.root(k)]) == 1 for k in folds)
