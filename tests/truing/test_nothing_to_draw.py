import pytest
from svg_making import svg

import seamcheck

PLAN = 'format = 1\n[pieces.front.corners]\na = [0, 0]\nb = [0, 9]\n[pieces.front.edges]\nside = ["a", "b"]\n'


@pytest.mark.parametrize("name", ["told.pdf", "told.svg"])
def test_a_file_without_a_piece_has_no_picture_and_one_sentence_says_so(tmp_path, name):
    pattern = tmp_path / "a.svg"
    pattern.write_bytes(svg('<path d="M0 0h100"/>'))
    pattern.with_suffix(".seams.toml").write_text(PLAN)
    with pytest.raises(
        seamcheck.SeamcheckError, match="no piece was found, so there is no picture; see what was read"
    ):
        seamcheck.true(pattern).draw(tmp_path / name, shown="all")
