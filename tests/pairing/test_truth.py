"""What the measure of pairing calls right."""

import solving  # noqa: F401  (the benchmarks are on the path)
from drafted import drafted
from pairing_examples import example

from seamcheck.pairing.candidates import Kind


def test_a_seam_over_a_pleat_is_right_that_is_right_at_both_ends():
    """A pleat in the middle of the longer edge shifts what meets between the ends; the other way round is wrong all the same."""
    folder = drafted("fifth")
    name = "falda-pantalon-con-canesu"
    (path,) = (one for one in folder.glob(f"{name}.*") if one.suffix in (".svg", ".dxf"))
    one = example(name, "fifth", name, path, folder / f"{name}.seams.toml", bare=False)
    pieces = {"DELANTERO", "CANESÚ DELANTERO"}
    ways = [
        bool(hit)
        for candidate, hit in zip(one.candidates, one.hits, strict=True)
        if candidate.kind is Kind.PAIR
        and {one.classes.part(use.line).name for side in candidate.seam for use in side} == pieces
        and {round(one.classes.side(side).length) for side in candidate.seam} == {330, 240}
    ]
    assert sorted(ways) == [False, True]
