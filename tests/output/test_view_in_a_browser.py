"""The view in a real browser: what it shows, does and asks for."""

import io
import re
from dataclasses import replace

import bodies
import numpy as np
import pytest
import shapes
from PIL import Image

from castplan.mesh.refine import split_edges
from castplan.model import Job
from castplan.output.view_page import view_html
from castplan.plan import build_plan
from castplan.scene import build_scene

# The bodies' sizes are closed forms of `shapes`; contrast is that of WCAG 2.2.
EDGE = 4  # px of the canvas that a frame or the focus may take
WIDE, PHONE = {"width": 1000, "height": 700}, {"width": 390, "height": 844}


def write(folder, name, body, **choices):
    part = shapes.part_of(body.vertices_mm, body.faces, name=name)
    plan = build_plan(part, Job(draw=(0, 0, 1), up=(0, 0, 1), **choices))
    scene = build_scene(plan)
    path = folder / f"{name}.html"
    path.write_bytes(view_html(plan, scene))
    return path, plan, scene


@pytest.fixture(scope="module")
def block(tmp_path_factory):
    """A block of 40 x 30 x 20 mm with a slot that holds: page, plan, scene."""
    return write(tmp_path_factory.mktemp("block"), "block", bodies.slot_block())


@pytest.fixture(scope="module")
def towers(tmp_path_factory):
    """Two towers, the lower without a vent: its air stays."""
    folder = tmp_path_factory.mktemp("towers")
    return write(folder, "towers", shapes.two_towers(), vent_min_height_mm=25.0)


@pytest.fixture
def open_page(browser):
    """Open a page by itself; what it says and asks for is kept beside it."""
    contexts = []

    def open_page(path, *, viewport=WIDE, **choices):
        context = browser.new_context(viewport=viewport, reduced_motion="reduce", **choices)
        contexts.append(context)
        page = context.new_page()
        page.said, page.asked_for = [], []
        page.on("console", lambda message: page.said.append(message.text))
        page.on("pageerror", lambda error: page.said.append(str(error)))
        page.on("request", lambda request: page.asked_for.append(request.url))
        page.goto(path.as_uri())
        page.locator("body.is-live").wait_for(state="attached")
        return page

    yield open_page
    for context in contexts:
        context.close()


def picture(page):
    """Pixels of the canvas as it stands but for its edge, (height, width, 3)."""
    page.wait_for_timeout(120)
    shot = page.locator(".castview-canvas").screenshot()
    pixels = np.asarray(Image.open(io.BytesIO(shot)).convert("RGB")).astype(int)
    return pixels[EDGE:-EDGE, EDGE:-EDGE]


def drawn(pixels):
    """Where the picture is not its ground."""
    return np.abs(pixels - pixels[0, 0]).max(axis=2) > 6


def share_of(pixels, colour, *, within=40):
    """Share of the picture within so many steps of a colour's hue."""
    wanted = np.array([int(colour[k : k + 2], 16) for k in (1, 3, 5)])
    return float((np.abs(pixels - wanted).max(axis=2) < within).mean())


def changed(one, other):
    """Share of the picture that is not as it was."""
    rows = min(len(one), len(other))  # a longer note below takes a line of it
    return float((np.abs(one[:rows] - other[:rows]).max(axis=2) > 24).mean())


def open_card(page, key):
    page.click(f"#card-{key} .head")


def slide(page, selector, value):
    page.eval_on_selector(
        selector,
        "(one, value) => { one.value = value; one.dispatchEvent(new Event('input')); }",
        str(value),
    )


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
    finding = next(f for f in block[1].findings if f.message.startswith("Pocket 1 "))
    # The page raises basis letters and powers, no more.
    for words in (finding.message.split("(")[0], finding.do.split("[")[0].strip()):
        assert words in note
    assert page.locator("#pocket-1 .more").is_visible()
    assert changed(before, picture(page)) > 0.05


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
    wide_mm = np.ptp(block[1].build.box.outline_mm, axis=0)[1]
    assert float(page.inner_text("#cut-text").split()[0]) == pytest.approx(wide_mm / 4, abs=0.06)


def test_the_pour_rises_and_leaves_the_air_it_must(towers, open_page):
    page = open_page(towers[0])
    open_card(page, "pour")
    last = len(towers[2].film.level_mm) - 1
    steps = []
    for step in (0, last // 2, last):
        slide(page, "#film", step)
        steps.append((picture(page), page.inner_text("#film-text")))
    assert changed(steps[0][0], steps[1][0]) > 0.005
    assert changed(steps[1][0], steps[2][0]) > 0.005
    # 16 x 16 x 20 mm of air stay in the lower tower, and only at the end.
    assert "no air caught" in steps[0][1]
    assert re.search(r"5\.[01] ml.* of air caught", steps[2][1])
    assert share_of(steps[2][0], "#0072b2", within=70) > 4 * share_of(
        steps[0][0], "#0072b2", within=30
    )
    page.click("#play")
    assert page.inner_text("#play") == "Stop"
    page.wait_for_timeout(400)
    assert 0 < int(page.input_value("#film")) < last
    page.click("#play")
    assert page.inner_text("#play") == "Play the pour"


def test_a_high_point_says_what_it_keeps(towers, open_page):
    page = open_page(towers[0])
    open_card(page, "pour")
    kept = [p for p in towers[1].air.peaks if p.number in set(towers[2].surface.peak.tolist())]
    assert len(kept) == 1
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
    assert page.inner_text("#length-text") == "No point set."


def test_inches_take_the_place_of_millimetres(block, open_page):
    page = open_page(block[0])
    open_card(page, "thick")
    legend = page.locator(".legend[data-map=thickness]")
    assert "mm" in legend.inner_text()
    page.check("input[name=unit][value=inch]", force=True)
    assert "mm" not in legend.inner_text() and "in" in legend.inner_text()


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


def test_a_phone_has_the_picture_in_the_card(block, open_page):
    page = open_page(block[0], viewport=PHONE, has_touch=True, is_mobile=True)
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    for key in ("split", "holds", "pour"):
        open_card(page, key)
        assert page.evaluate(f"document.querySelector('#body-{key} #stage') !== null")
    before = picture(page)
    box = page.locator(".castview-canvas").bounding_box()
    touch = page.context.new_cdp_session(page)
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2

    def fingers(kind, *places):
        points = [{"x": px, "y": py, "id": k} for k, (px, py) in enumerate(places)]
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    fingers("touchStart", (x, y))
    fingers("touchMove", (x + 60, y + 10))
    fingers("touchEnd")
    turned = picture(page)
    assert changed(before, turned) > 0.01
    fingers("touchStart", (x - 30, y), (x + 30, y))
    fingers("touchMove", (x - 80, y), (x + 80, y))
    fingers("touchEnd")
    assert changed(turned, picture(page)) > 0.01
    assert page.said == []


def test_every_control_is_named_and_large_enough(block, open_page):
    page = open_page(block[0], viewport=PHONE)
    for key in ("split", "cut", "holds", "pour", "measure"):
        open_card(page, key)
        # WCAG 2.2, 2.5.8 (24 px) and 4.1.2 (a name).
        small = page.eval_on_selector_all(
            "button, input, summary, canvas",
            """all => all.filter(one => one.offsetParent && !one.closest('.castview-labels'))
            .filter(one => { const box = one.getBoundingClientRect();
            return box.height < 24 || box.width < 24; }).map(one => one.outerHTML.slice(0, 90))""",
        )
        assert small == []
        unnamed = page.eval_on_selector_all(
            "button, input",
            """all => all.filter(one => !(one.textContent.trim() || one.ariaLabel
            || (one.labels && one.labels[0] && one.labels[0].textContent.trim())))
            .map(one => one.outerHTML.slice(0, 90))""",
        )
        assert unnamed == []


def luminance(colour):
    """Relative luminance, WCAG 2.2."""
    parts = [int(value) / 255 for value in re.findall(r"\d+", colour)[:3]]
    lin = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * lin[0] + 0.7152 * lin[1] + 0.0722 * lin[2]


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_words_stand_out_in_light_and_in_dark(block, open_page, scheme):
    page = open_page(block[0], color_scheme=scheme)
    open_card(page, "holds")
    pairs = page.eval_on_selector_all(
        "p, h1, h2 button, h3, legend, li, label, .step, .number, .note, summary, .act, .pick span",
        """all => all.filter(one => one.offsetParent && one.textContent.trim()).map(one => {
        let under = one;
        const ground = (at) => getComputedStyle(at).backgroundColor;
        while (under && ground(under) === 'rgba(0, 0, 0, 0)') under = under.parentElement;
        return [one.textContent.trim().slice(0, 30), getComputedStyle(one).color,
        getComputedStyle(under || document.documentElement).backgroundColor]; })""",
    )
    assert len(pairs) > 20
    for words, ink, ground in pairs:
        light, dark = sorted((luminance(ink), luminance(ground)), reverse=True)
        assert (light + 0.05) / (dark + 0.05) >= 4.5, (words, ink, ground)  # 1.4.3
    body = page.evaluate("getComputedStyle(document.documentElement).backgroundColor")
    assert (luminance(body) > 0.5) == (scheme == "light")


def test_without_webgl_the_drawings_stand_in(block, start_browser):
    context = start_browser("--disable-3d-apis").new_context(viewport=WIDE)
    page = context.new_page()
    said = []
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.goto(block[0].as_uri())
    page.wait_for_timeout(200)
    assert "is-live" not in page.evaluate("document.body.className")
    assert page.locator("#plain").is_visible() and not page.locator("#stage").is_visible()
    drawings = page.locator(".drawing svg")
    assert drawings.count() >= 4
    assert all(drawings.nth(k).is_visible() for k in range(drawings.count()))
    # Every pocket and what to do about it can be read.
    assert page.locator("#pocket-1 .do").is_visible()
    assert not page.locator("#open").is_visible()
    assert said == []
    context.close()


def test_a_hundred_thousand_triangles_take_under_three_megabytes(block, tmp_path, open_page):
    _, plan, _ = block
    points, faces = plan.part.vertices_mm, plan.part.faces
    while len(faces) < 100_000:
        points, faces, _ = split_edges(points, faces, np.ones((len(faces), 3), dtype=bool))
    heavy = replace(plan, part=replace(plan.part, vertices_mm=points, faces=faces))
    scene = build_scene(heavy)
    assert scene.surface.is_thinned and len(scene.halves) == 2
    assert len(scene.surface.faces) > 40_000  # thinned no more than it must be
    path = tmp_path / "heavy.html"
    path.write_bytes(view_html(heavy, scene))
    assert path.stat().st_size < 3_000_000
    page = open_page(path)
    assert drawn(picture(page)).mean() > 0.1
    open_card(page, "holds")
    assert "thinned to" in page.inner_text("#body-holds")
    assert page.said == []
