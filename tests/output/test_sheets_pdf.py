"""The PDF read back with pdfplumber and pypdf: sizes, scale, places, fonts, bytes.

Lengths on paper are measured here from the file itself, in points of 1/72 inch
(ISO 32000-1, 8.3.2.3: the default user space unit).
"""

import hashlib
import io
import os
import subprocess
import sys
from functools import cache
from pathlib import Path

import numpy as np
import pdfplumber
import pypdf
import pypdfium2 as pdfium
import pytest
from output.plan_fixture import make_plan
from output.plan_variants import VARIANTS, make_large_plan

from castplan.paper.sheets import write_sheets

MM_PER_PT = 25.4 / 72
AIR = (0.0, 0x72 / 255, 0xB2 / 255)
# A hundredth of a line's width; what is measured lies centimetres apart, and
# the file writes six decimals of a point.
TOLERANCE_MM = 0.05


@pytest.fixture(scope="module")
def write(tmp_path_factory):
    folder = tmp_path_factory.mktemp("sheets")
    written = {}

    def write(plan):
        if id(plan) not in written:
            path = folder / f"{len(written)}.pdf"
            write_sheets(plan, path)
            written[id(plan)] = (plan, path)
        return written[id(plan)][1]

    return write


PLAN = make_plan()
LARGE = make_large_plan(factor=2.2)


@cache
def pages_with(path, words):
    """Every page with `words` in its head, as pdfplumber reads it.

    PDFium, which is far quicker, looks for the words; the pages found are read once.
    """
    with pdfium.PdfDocument(path) as document:
        texts = [page.get_textpage().get_text_range() for page in document]
    numbers = [
        number for number, text in enumerate(texts, start=1) if words in text.splitlines()[0]
    ]
    # From memory: the pages are read while the test asks them, and no file stays open.
    held = io.BytesIO(Path(path).read_bytes())
    return pdfplumber.open(held, pages=numbers).pages if numbers else []


def upper_pages(path):
    return pages_with(path, "Pour sketch, upper side")


def under_pages(path):
    return pages_with(path, "Pour sketch, UNDERSIDE - mirrored")


def segments(page):
    """Straight single lines as ((x0, y0), (x1, y1), colour) in mm, y upward."""
    return [
        (
            np.array([line["x0"], line["y0"]]) * MM_PER_PT,
            np.array([line["x1"], line["y1"]]) * MM_PER_PT,
            line["stroking_color"],
        )
        for line in page.lines
    ]


def is_air(colour):
    return np.size(colour) == 3 and np.allclose(colour, AIR, atol=0.005)


def crosshairs(page):
    """(centre, arm to arm length) of crosses in the colour of openings, in mm."""
    level, upright = [], []
    for start, end, colour in segments(page):
        size = np.abs(end - start)
        if is_air(colour) and min(size) < 0.001 < 5.0 < max(size):
            (level if size[1] < size[0] else upright).append(((start + end) / 2, max(size)))
    return [
        (centre, length)
        for centre, length in level
        if any(np.allclose(centre, c, atol=0.001) and abs(length - n) < 0.001 for c, n in upright)
    ]


def box_outline(page):
    """(low, high) corner of the largest rectangle drawn in a wide line, in mm."""
    wide = [r for r in page.rects if abs(r["linewidth"] * MM_PER_PT - 0.5) < 0.01]
    largest = max(wide, key=lambda r: r["width"] * r["height"])
    return (
        np.array([largest["x0"], largest["y0"]]) * MM_PER_PT,
        np.array([largest["x1"], largest["y1"]]) * MM_PER_PT,
    )


@pytest.mark.parametrize(
    ("paper", "size_mm"),
    # ISO 216: A4 is 210 x 297 mm. ANSI/ASME Y14.1: size A (Letter) is 8.5 x 11 in.
    [("A4", (210.0, 297.0)), ("Letter", (8.5 * 25.4, 11 * 25.4))],
)
def test_the_paper_has_its_standard_size(write, paper, size_mm):
    plan = PLAN if paper == "A4" else VARIANTS["Letter"]
    for page in pypdf.PdfReader(write(plan)).pages:
        size = [float(v) * MM_PER_PT for v in (page.mediabox.width, page.mediabox.height)]
        # ISO 216 allows the cut 1.5 mm; the file has no reason to be 0.01 mm off.
        assert size == pytest.approx(size_mm, abs=0.01)
        assert page.get("/UserUnit", 1) == 1


def ruler_lengths(page):
    """Lengths of level wide lines that have a tick at either end, in mm."""
    lines = segments(page)
    ends = [tuple(np.round(start, 3)) for start, _, _ in lines]
    ends += [tuple(np.round(end, 3)) for _, end, _ in lines]
    found = []
    for start, end, _ in lines:
        if end[1] == start[1] and all(ends.count(tuple(np.round(p, 3))) > 1 for p in (start, end)):
            found.append(float(end[0] - start[0]))
    return sorted(found)


@pytest.mark.parametrize("plan", [PLAN, LARGE, VARIANTS["landscape"], VARIANTS["Letter"]])
def test_the_check_rulers_measure_what_they_say(write, plan):
    pages = [*upper_pages(write(plan)), *under_pages(write(plan))]
    assert len(pages) >= 2
    for page in pages:
        text = page.extract_text()
        assert "SCALE 1:1" in text  # the designation of ISO 5455
        assert "100 mm" in text and "4 in" in text
        # 4 in = 101.6 mm.
        assert ruler_lengths(page) == pytest.approx([100.0, 101.6], abs=TOLERANCE_MM)


def from_corner_mm(plan, port):
    """A port of the invented plan from the datum corner: there all run straight up."""
    return tuple(np.subtract(port.place_mm[:2], plan.mould.block.datum_mm))


def ports_of(plan):
    """Places from the datum corner, in the order of x then y."""
    return sorted(from_corner_mm(plan, port) for port in plan.mould.block.ports)


@pytest.mark.parametrize("plan", [PLAN, VARIANTS["30 vents"], VARIANTS["landscape"]])
def test_openings_stand_where_the_plan_says(write, plan):
    (page,) = upper_pages(write(plan))
    corner, far = box_outline(page)
    size = np.ptp(plan.mould.block.box_view_mm, axis=0)
    assert far - corner == pytest.approx(size, abs=TOLERANCE_MM)
    found = sorted(tuple(centre - corner) for centre, _ in crosshairs(page))
    assert len(found) == len(plan.mould.block.ports)
    assert np.array(found) == pytest.approx(np.array(ports_of(plan)), abs=TOLERANCE_MM)


@pytest.mark.parametrize("plan", [PLAN, VARIANTS["30 vents"]])
def test_the_twin_is_mirrored_left_to_right(write, plan):
    (page,) = under_pages(write(plan))
    low, high = box_outline(page)
    datum = np.array([high[0], low[1]])
    found = sorted(tuple((centre - datum) * (-1, 1)) for centre, _ in crosshairs(page))
    assert np.array(found) == pytest.approx(np.array(ports_of(plan)), abs=TOLERANCE_MM)
    # Not the unmirrored drawing: that would miss by more than the tolerance.
    plain = sorted(tuple(centre - low) for centre, _ in crosshairs(page))
    assert np.abs(np.array(plain) - ports_of(plan)).max() > 1.0


def test_holes_have_their_bore(write):
    (page,) = upper_pages(write(PLAN))
    wide = [c for c in page.curves if abs(c["linewidth"] * MM_PER_PT - 0.5) < 0.01]
    for port in PLAN.mould.block.ports:
        corner, _ = box_outline(page)
        place = corner + from_corner_mm(PLAN, port)
        bores = [
            c["width"] * MM_PER_PT
            for c in wide
            if np.allclose(
                np.array([c["x0"] + c["x1"], c["y0"] + c["y1"]]) / 2 * MM_PER_PT, place, atol=0.05
            )
        ]
        assert bores == pytest.approx([port.diameter_mm], abs=TOLERANCE_MM), port.label


def joints(page):
    """Centres of the joining marks: circles of 2 mm radius, in mm, by x then y."""
    return sorted(
        (
            (c["x0"] + c["x1"]) / 2 * MM_PER_PT,
            (c["y0"] + c["y1"]) / 2 * MM_PER_PT,
        )
        for c in page.curves
        if abs(c["width"] * MM_PER_PT - 4.0) < 0.01 and abs(c["height"] * MM_PER_PT - 4.0) < 0.01
    )


@pytest.mark.parametrize("sides", [upper_pages, under_pages])
def test_tiles_join(write, sides):
    left, right = sides(write(LARGE))
    assert "tile A1 of 2 x 1" in left.extract_text()
    assert "tile A2 of 2 x 1" in right.extract_text()
    one, two = np.array(joints(left)), np.array(joints(right))
    assert len(one) == len(two) == 2
    # Two marks fix shift and turn: the same shift for both means they can be laid over.
    shift = one - two
    assert shift[0] == pytest.approx(shift[1], abs=TOLERANCE_MM)
    # A4 less two margins of 12 mm and the overlap of 10 mm.
    assert shift[0] == pytest.approx((210 - 24 - 10, 0.0), abs=TOLERANCE_MM)
    # Laid so, the box has its size and the openings their distances.
    places = []
    for page, moved in ((left, np.zeros(2)), (right, shift[0])):
        places += [tuple(np.round(centre + moved, 2)) for centre, _ in crosshairs(page)]
    found = np.array(sorted(set(places)))
    found -= found[0]
    wanted = np.array([from_corner_mm(LARGE, p) for p in LARGE.mould.block.ports])
    wanted = wanted * (-1, 1) if sides is under_pages else wanted
    wanted = np.array(sorted(map(tuple, wanted)))
    assert found == pytest.approx(wanted - wanted[0], abs=TOLERANCE_MM)


def test_all_fonts_are_embedded(write):
    fonts = set()
    for page in pypdf.PdfReader(write(PLAN)).pages:
        for font in page["/Resources"]["/Font"].get_object().values():
            font = font.get_object()
            for inner in font.get("/DescendantFonts", [font]):
                descriptor = inner.get_object()["/FontDescriptor"].get_object()
                assert "/FontFile2" in descriptor  # TrueType outlines: ISO 32000-1, table 126
                fonts.add(font["/BaseFont"].partition("+")[2])
    assert fonts == {"DejaVuSans", "DejaVuSans-Bold"}


def test_no_glyph_is_missing(write):
    with pdfplumber.open(write(PLAN)) as document:
        text = "".join(page.extract_text() for page in document.pages)
    assert "cm²" not in text or "□" not in text
    for character in "²±":
        assert character in text
    assert "\x00" not in text and "�" not in text


def test_the_same_plan_gives_the_same_bytes(write, tmp_path):
    first = write(PLAN).read_bytes()
    write_sheets(PLAN, tmp_path / "again.pdf")
    assert (tmp_path / "again.pdf").read_bytes() == first
    assert write(VARIANTS["one vent"]).read_bytes() != first


def test_another_process_gives_the_same_bytes(write, tmp_path):
    code = (
        "import sys; from output.plan_fixture import make_plan; "
        "from castplan.paper.sheets import write_sheets; write_sheets(make_plan(), sys.argv[1])"
    )
    tests = Path(__file__).parents[1]
    environment = {**os.environ, "PYTHONHASHSEED": "7", "PYTHONPATH": str(tests)}
    path = tmp_path / "other.pdf"
    subprocess.run([sys.executable, "-c", code, str(path)], check=True, env=environment, cwd=tests)
    wanted = hashlib.sha256(write(PLAN).read_bytes()).hexdigest()
    assert hashlib.sha256(path.read_bytes()).hexdigest() == wanted


def test_the_file_is_small(write):
    for plan in (PLAN, LARGE, VARIANTS["30 vents"], VARIANTS["40 findings"]):
        assert write(plan).stat().st_size < 1_000_000
