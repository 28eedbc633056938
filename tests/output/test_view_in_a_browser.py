"""The view in a real browser: what it shows, does and asks for.

How much of a picture has to be drawn is assumed.
"""

import re

import numpy as np
import pytest
from view_picture import EDGE, SHARP, changed, drawn, open_card, picture, share_of, slide

# The bodies' sizes are closed forms of `shapes` and `bodies`.

TURNED = """() => { const one = document.querySelector('.castview-canvas');
one.dispatchEvent(new KeyboardEvent('keydown', { key: 'ArrowLeft' }));
return new Promise((go) => setTimeout(() => go(one.width), 110)); }"""


def test_it_opens_from_disk_and_asks_for_nothing_else(block, open_page):
    path, _, _ = block
    page = open_page(path)
    for key in ("turn", "cut", "holds", "thick", "pour", "measure", "watch", "split"):
        open_card(page, key)
        page.wait_for_timeout(60)
        assert page.locator(f"#body-{key}").is_visible()
        assert page.locator(".body:visible").count() == 1
    assert page.said == []
    assert page.asked_for == [path.as_uri()]


@pytest.mark.long
def test_it_leaves_nothing_in_the_window(block, open_page, tmp_path):
    page = open_page(block[0])
    names = "Object.getOwnPropertyNames(window)"
    there = set(page.evaluate(names))
    empty = tmp_path / "empty.html"
    empty.write_text("<!doctype html><title>empty</title>")
    page.goto(empty.as_uri())
    # Elements with an id are named by the browser itself; no script adds a name.
    ids = set(re.findall(r'id="([^"]+)"', block[0].read_text("utf-8")))
    assert there - set(page.evaluate(names)) - ids == set()


def test_the_picture_shows_part_and_both_halves(block, open_page):
    page = open_page(block[0])
    slide(page, "#open", 100)
    pixels = picture(page)
    assert 0.1 < drawn(pixels).mean() < 0.95
    assert share_of(pixels, "#4fa4d6") > 0.02  # the upper half, sky blue in the light
    assert share_of(pixels, "#d29100") > 0.02  # the lower, orange


@pytest.mark.long
def test_the_slider_draws_the_halves_apart(block, open_page):
    page = open_page(block[0])
    tall = []
    for value in (0, 50, 100):
        slide(page, "#open", value)
        there = drawn(picture(page))
        rows, columns = np.flatnonzero(there.any(axis=1)), np.flatnonzero(there.any(axis=0))
        tall.append(np.ptp(rows) / np.ptp(columns))
    assert tall[0] < tall[1] < tall[2]
    assert tall[2] > 1.3 * tall[0]


@pytest.mark.long
def test_what_is_not_ticked_is_not_shown(block, open_page):
    page = open_page(block[0])
    before = share_of(picture(page), "#4fa4d6")
    page.uncheck("input[value=upper]", force=True)
    assert share_of(picture(page), "#4fa4d6") < 0.1 * before


def test_a_click_in_the_list_flies_there_and_says_what_to_do(block, open_page):
    page = open_page(block[0])
    open_card(page, "holds")
    before = picture(page)
    page.click("[data-place=pocket-1]")
    note = page.inner_text("#note")
    finding = next(f for f in block[1].findings if str(f.message).startswith("Pocket 1 "))
    # The page raises basis letters and powers, no more.
    for words in (str(finding.message).split("(")[0], str(finding.do).split("[")[0].strip()):
        assert words in note
    assert page.locator("#pocket-1 .more").is_visible()
    assert changed(before, picture(page)) > 0.05


@pytest.mark.long
def test_a_click_on_the_pocket_itself_does_the_same(block, open_page):
    page = open_page(block[0])
    open_card(page, "holds")
    page.click("[data-place=pocket-1]")
    page.evaluate("document.getElementById('note').textContent = ''")
    # The view has flown to a facet of the pocket: it stands in the middle.
    page.focus(".castview-canvas")
    page.keyboard.press("Enter")
    assert "Pocket 1" in page.inner_text("#note")


def test_maps_colour_the_part_and_their_legend_goes_along(block, open_page):
    page = open_page(block[0])
    open_card(page, "holds")
    seen = {}
    for key in ("held", "depth", "draft"):
        page.check(f"input[name=map][value={key}]", force=True)
        seen[key] = picture(page)
        assert page.locator(f".legend[data-map={key}]").is_visible()
        assert page.locator(".legend:visible").count() == 1
    open_card(page, "thick")
    seen["thick"] = picture(page)
    keys = list(seen)
    for k, one in enumerate(keys):
        for other in keys[k + 1 :]:
            assert changed(seen[one], seen[other]) > 0.003, (one, other)
    # Held rubber is hatched in the half's colour, never by colour alone.
    assert page.locator(".legend[data-map=held] .hatch").count() >= 2


def test_the_cut_shows_solid_silicone_and_moves(block, open_page):
    page = open_page(block[0])
    open_card(page, "cut")
    slide(page, "#cut-at", 500)
    middle = picture(page)
    # Flat tints of the cut, which nothing else has, on both halves.
    assert share_of(middle, "#a9d8f3", within=6) > 0.01
    assert share_of(middle, "#f3cf85", within=6) > 0.002
    text = page.inner_text("#cut-text")
    slide(page, "#cut-at", 250)
    assert changed(middle, picture(page)) > 0.02
    assert page.inner_text("#cut-text") != text
    wide_mm = np.ptp(block[1].split.box.outline_mm, axis=0)[1]
    assert float(page.inner_text("#cut-text").split()[0]) == pytest.approx(wide_mm / 4, abs=0.06)


def test_the_pour_rises_and_leaves_the_air_it_must(posts, open_page):
    page = open_page(posts[0])
    open_card(page, "pour")
    last = len(posts[2].film.level_mm) - 1
    steps = []
    for step in (0, last // 2, last):
        slide(page, "#film", step)
        steps.append((picture(page), page.inner_text("#film-text")))
    assert changed(steps[0][0], steps[1][0]) > 0.005
    assert changed(steps[1][0], steps[2][0]) > 0.005
    # 6 x 6 x (8 + 11) mm of air stay on two posts, and only at the end.
    assert "no air is trapped" in steps[0][1]
    assert re.search(r"0\.6[89] ml.* of air is trapped", steps[2][1])
    assert share_of(steps[2][0], "#0072b2", within=70) > 4 * share_of(
        steps[0][0], "#0072b2", within=30
    )
    page.click("#play")
    assert page.inner_text("#play") == "Stop"
    page.wait_for_timeout(400)
    assert 0 < int(page.input_value("#film")) < last
    page.click("#play")
    assert page.inner_text("#play") == "Play the pour"


@pytest.mark.long
def test_a_high_point_says_what_it_keeps(posts, open_page):
    page = open_page(posts[0])
    open_card(page, "pour")
    kept = [
        p for p in posts[1].air.openings.peaks if p.number in set(posts[2].surface.peak.tolist())
    ]
    assert len(kept) == 2
    page.click(f"[data-place=peak-{kept[0].number}]")
    note = page.inner_text("#note")
    assert f"High point {kept[0].number}" in note and "of air" in note and "Do: " in note


def test_a_length_between_two_corners_is_that_of_the_block(block, open_page):
    page = open_page(block[0])
    open_card(page, "measure")
    rows, columns = np.nonzero(drawn(picture(page)))
    # Seen from over a corner, the outline's lowest point is the near corner of the
    # base, its leftmost the corner of the top 40 mm along x from it and 20 mm up.
    low, left = np.argmax(rows), np.argmin(columns)
    box = page.locator(".castview-canvas").bounding_box()
    for k in (low, left):
        page.mouse.click(box["x"] + EDGE + columns[k], box["y"] + EDGE + rows[k])
    assert page.inner_text("#length-text").startswith("A to B: 44.7 mm")  # hypot(40, 20)
    page.check("input[name=unit][value=inch]", force=True)
    assert page.inner_text("#length-text").startswith("A to B: 1 3/4 in")  # 1.761
    page.click("#clear")
    assert page.inner_text("#length-text") == "No point is set."


@pytest.mark.long
def test_inches_take_the_place_of_millimetres(block, open_page):
    page = open_page(block[0])
    open_card(page, "thick")
    legend = page.locator(".legend[data-map=thickness]")
    assert "mm" in legend.inner_text()
    page.check("input[name=unit][value=inch]", force=True)
    assert "mm" not in legend.inner_text() and "in" in legend.inner_text()


@pytest.mark.long
def test_keys_turn_move_and_come_closer(block, open_page):
    page = open_page(block[0])
    page.focus(".castview-canvas")
    seen = [picture(page)]
    for key in ("ArrowLeft", "ArrowUp", "Shift+ArrowRight", "+"):
        page.keyboard.press(key)
        seen.append(picture(page))
        assert changed(seen[-2], seen[-1]) > 0.005, key
    page.keyboard.press("0")
    assert changed(seen[0], picture(page)) < 0.002  # and all is as it was


def test_a_slow_computer_turns_a_smaller_picture_and_rests_on_a_sharp_one(block, open_page):
    page = open_page(block[0])
    page.wait_for_function(SHARP)
    wide = page.evaluate("document.querySelector('.castview-canvas').width")
    # As if a picture took 80 ms: twice what is let pass.
    page.evaluate(
        "window.requestAnimationFrame = (go) => setTimeout(() => go(performance.now()), 80)"
    )
    page.focus(".castview-canvas")
    seen = [page.evaluate(TURNED) for _ in range(6)]
    # On a slow machine the first is small already.
    assert seen[-1] == pytest.approx(wide / 2, abs=1)
    page.wait_for_function(SHARP)
