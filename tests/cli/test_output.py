import io

from seamcheck.cli.output import LARGE, each_with_progress


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_a_terminal_is_told_which_of_several_files_is_worked_on_and_is_left_clean():
    stream = Terminal()
    assert list(each_with_progress(["front.svg", "back.svg"], stream)) == ["front.svg", "back.svg"]
    assert "1 of 2: front.svg" in stream.getvalue()
    assert "2 of 2: back.svg" in stream.getvalue()
    assert stream.getvalue().endswith("\r\x1b[K")


def test_one_file_and_what_is_no_terminal_are_told_nothing():
    one, pipe = Terminal(), io.StringIO()
    assert list(each_with_progress(["front.svg"], one)) == ["front.svg"]
    assert list(each_with_progress(["front.svg", "back.svg"], pipe)) == ["front.svg", "back.svg"]
    assert one.getvalue() == pipe.getvalue() == ""


def test_a_large_file_alone_is_told_of_and_nothing_where_the_result_itself_streams(tmp_path):
    large = tmp_path / "large.svg"
    large.write_bytes(b" " * (LARGE + 1))
    stream, quiet = Terminal(), Terminal()
    assert list(each_with_progress([str(large)], stream)) == [str(large)]
    assert "1 of 1: " in stream.getvalue()
    assert list(each_with_progress(["front.svg", str(large)], quiet, quiet=True)) == ["front.svg", str(large)]
    assert quiet.getvalue() == ""
