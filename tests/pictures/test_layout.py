"""How pictures look: words apart and on the paper, every one of them translatable.

Half grey is 128 of 255: by definition of eight bits.
"""

import re
from itertools import combinations

import matplotlib
import numpy as np
import pytest
from matplotlib.figure import Figure
from matplotlib.text import Text
from output.greek import greek_catalogue, told_in_greek
from output.left_english import latin
from output.plan_variants import VARIANTS
from PIL import Image

from castplan import pictures, texts
from castplan.pictures.write import write_picture

# Boxes of words hold the room that tall letters would take; so much of it may be shared.
SHARED_PX = 2.0


def words(ax):
    """(text, box in pixels) of all that is written, after the layout."""
    legend = ax.get_legend()
    written = [ax.title, ax._left_title, *ax.texts]
    if ax.axison:
        written += [ax.xaxis.label, ax.yaxis.label]
        for axis, limits in ((ax.xaxis, ax.get_xlim()), (ax.yaxis, ax.get_ylim())):
            low, high = sorted(limits)
            written += [
                tick.label1
                for tick in axis.get_major_ticks()
                if low - 1e-9 <= tick.get_loc() <= high + 1e-9
            ]
    written += legend.get_texts() if legend else []
    # As a text: the box of an annotation has its leader in it.
    return [(one.get_text(), Text.get_window_extent(one)) for one in written if one.get_text()]


def clashes(told, size_px):
    """Pairs of words over each other, and words that leave the paper."""
    bad = [
        (one, other)
        for (one, a), (other, b) in combinations(told, 2)
        if min(a.x1, b.x1) - max(a.x0, b.x0) > SHARED_PX
        and min(a.y1, b.y1) - max(a.y0, b.y0) > SHARED_PX
    ]
    wide, high = size_px
    return bad + [
        (one, "off the paper")
        for one, box in told
        if box.x0 < 0 or box.y0 < 0 or box.x1 > wide or box.y1 > high
    ]


def size_px(ax):
    return ax.figure.get_size_inches() * ax.figure.dpi


@pytest.mark.parametrize("name", pictures.NAMES)
def test_no_word_lies_over_another_or_off_the_paper(hook, grille, drawn, name):
    variants = ("30 vents", "stepped split", "tilted split", "40 copies", "no steps", "tiny")
    variants += ("name without a break", "many tiles", "nothing to open, nothing found")
    for plan in (hook, grille, *(VARIANTS[variant] for variant in variants)):
        ax = drawn(plan, name)
        assert clashes(words(ax), size_px(ax)) == []


def test_the_search_for_clashes_can_fail(hook, drawn):
    ax = drawn(hook, "fill")
    box = ax._left_title.get_window_extent()
    place = ax.transAxes.inverted().transform((box.x0, box.y0))
    ax.text(*place, "over it", transform=ax.transAxes)
    ax.text(1.5, 0.5, "away", transform=ax.transAxes)
    ax.figure.draw_without_rendering()
    found = clashes(words(ax), size_px(ax))
    assert [bad[1] for bad in found] == ["over it", "off the paper"]


@pytest.fixture
def greek():
    texts.use(greek_catalogue())
    yield
    texts.use({})


@pytest.mark.parametrize("name", pictures.NAMES)
def test_every_word_can_be_translated(greek, drawn, name):
    for variant in ("as made", "stepped split", "no steps"):
        plan = told_in_greek(VARIANTS[variant])
        own = {
            word for line in plan.bench.fit.lines for word in re.findall(r"[A-Za-z]{2,}", line.name)
        }
        told = " ".join(text for text, _ in words(drawn(plan, name)))
        assert latin(told, own) == []
        assert re.search("[\u03b1-\u03c9]{3,}", told)


def test_a_true_size_is_one_in_the_file_too(hook, tmp_path):
    path = tmp_path / "vents.png"
    write_picture(hook, "vents", path)
    with Image.open(path) as image:
        grey, dpi = np.asarray(image.convert("L")), image.info["dpi"][0]
    # The box is the widest rectangle of ink: a row through it beside the part has the scale
    # of the picture at its left, then the box's two walls.
    ax = pictures.draw_vents(hook, Figure())
    box = hook.mould.block.box_view_mm - hook.mould.block.datum_mm
    y_mm = box[:, 1].max() - 4.0
    low, high = ax.get_ylim()
    place = ax.get_position()
    row = len(grey) * (1 - place.y0 - place.height * (y_mm - low) / (high - low))
    dark = np.flatnonzero(grey[round(row)] < 128)
    runs = np.split(dark, np.flatnonzero(np.diff(dark) > 1) + 1)
    left, right = (run.mean() for run in runs[-2:])
    # A pixel at either end, of more than a thousand.
    assert (right - left) / dpi * 25.4 == pytest.approx(np.ptp(box[:, 0]), abs=2 * 25.4 / dpi)


def test_classes_are_told_apart_without_colour(hook, drawn, tmp_path):
    ax = drawn(hook, "split")
    hatches = {one.get_label(): one.get_hatch() for one in ax.patches if one.get_label()}
    assert len(set(hatches.values())) == len(hatches) == 4
    with matplotlib.rc_context():
        path = tmp_path / "split.png"
        write_picture(hook, "split", path)
    with Image.open(path) as image:
        grey = np.asarray(image.convert("L"), dtype=float)
    # Hatched silicone has lines in grey too: in a patch of it 12 mm wide the tone goes up
    # and down by more than 30 of 255, which black and white printers keep apart.
    px = 200 / 25.4
    middle = int(grey.shape[1] * 0.5)
    for share in (0.2, 0.62):
        at = int(grey.shape[0] * share)
        patch = grey[at : at + int(3 * px), middle : middle + int(6 * px)]
        assert np.ptp(patch) > 30
