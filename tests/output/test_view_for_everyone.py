"""The view on a phone, in the dark, by keys and ears, without WebGL, and heavy.

Contrast by WCAG 2.2.
"""

import re
from dataclasses import replace

import numpy as np
import pytest
from view_picture import PHONE, WIDE, changed, drawn, open_card, picture

from castplan.geometry.refine import split_edges
from castplan.view.page import view_html
from castplan.view.scene import build_scene

# Contrast, names and sizes of controls: WCAG 2.2 (W3C Recommendation, 2023).


@pytest.mark.long
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


def test_on_paper_every_card_stands_open_with_its_drawing(block, open_page):
    page = open_page(block[0])
    page.emulate_media(media="print")
    assert page.locator(".card .body:visible").count() == page.locator(".card .body").count()
    assert page.locator(".drawing svg:visible").count() == page.locator(".drawing svg").count() >= 4
    assert page.locator("#stage").is_hidden()
    assert page.locator(":is(input, select, .act):visible").count() == 0
    # Every pocket and what to do about it can be read.
    assert page.locator("#pocket-1 .do").is_visible()


@pytest.mark.long
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


@pytest.mark.long
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
    assert "triangles only" in page.inner_text("#body-holds")
    assert page.said == []
