"""Small SVG files for the tests of the SVG reader."""

from seamcheck.config.limits import ReadOptions
from seamcheck.reading.base import Source
from seamcheck.reading.svg.reader import read

SPACES = (
    'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
    ' xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape"'
    ' xmlns:sodipodi="http://sodipodi.sourceforge.net/DTD/sodipodi-0.dtd" xmlns:serif="http://www.serif.com/"'
)
MM = 'width="400mm" height="300mm" viewBox="0 0 400 300"'  # one unit is one mm


def svg(body, head=MM):
    return f"<svg {SPACES} {head}>{body}</svg>".encode()


def read_bytes(data, **options):
    return read(Source("ferryhand.svg", data, ReadOptions(**options)))


def drawing(body, head=MM, **options):
    return read_bytes(svg(body, head), **options)


def only_line(body, head=MM, **options):
    (line,) = drawing(body, head, **options).lines
    return line


def codes(drawn):
    return [note.code for note in drawn.notes]
