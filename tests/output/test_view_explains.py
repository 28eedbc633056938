"""The picture explains the mould: silicone seen through, the side that tells most, marks, hands.

How much of a picture has to change is assumed; sizes are closed forms of the bodies.
"""

import bodies
import numpy as np
import pytest
from output.conftest import write
from view_picture import EDGE, WIDE, changed, drawn, open_card, picture, share_of, slide

from castplan.part.faces import name_faces
from castplan.view.page import page_script


@pytest.fixture(scope="module")
def faced(tmp_path_factory):
    """The block with its slot, that is seen from the side which nobody looked from by itself."""
    folder = tmp_path_factory.mktemp("faced")
    return write(folder, "faced", bodies.slot_block(), show_face=(0, 1, 0))


def middle(page):
    """The middle of the canvas on the page, px."""
    box = page.locator(".castview-canvas").bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def note(page):
    return page.inner_text("#note")


def test_the_silicone_is_seen_through_where_what_lies_in_it_is_spoken_of(block, open_page):
    page = open_page(block[0])
    open_card(page, "holds")
    # Its sky blue lies thin over the ground and the part; nothing of it is full.
    there = picture(page)
    assert share_of(there, "#4fa4d6", within=25) < 0.01
    tinted = (there[:, :, 2] - there[:, :, 0] > 8) & drawn(there)
    assert tinted.mean() > 0.1
    # A click goes through it, to the part.
    page.mouse.click(*middle(page))
    assert "Draft" in note(page) and "silicone" not in note(page)
    open_card(page, "split")
    slide(page, "#open", 0)
    page.mouse.click(*middle(page))
    assert "silicone" not in note(page)
    slide(page, "#open", 100)
    assert share_of(picture(page), "#4fa4d6", within=25) > 0.02


def test_the_first_camera_sees_the_face_that_shows(faced, open_page):
    path, plan, _ = faced
    page = open_page(path)
    open_card(page, "thick")
    seen = page.inner_text(".castview-gizmo p")
    out = np.array(plan.show.direction)
    assert seen == str(name_faces(plan.part, plan.split.draw.frame).towards(out).name)


def test_a_click_on_the_small_block_looks_at_that_face(block, open_page):
    page = open_page(block[0])
    first = page.inner_text(".castview-gizmo p")
    before = picture(page)
    other = page.locator(".castview-gizmo path:not(.is-seen):not([hidden])").first
    name = other.locator("title").text_content()
    other.dispatch_event("click")
    assert changed(before, picture(page)) > 0.02
    assert page.inner_text(".castview-gizmo p") == name != first


def alternations(pixels):
    """How often ink and tint alternate along the longest run of the upper half's cut."""
    row = pixels[int(0.5 * len(pixels))]
    # Blue over red tells the tint, and darkness the ink between.
    is_ink = row.max(axis=1) < 150
    is_tint = np.abs(row - np.array([0xA9, 0xD8, 0xF3])).max(axis=1) < 8
    at = np.flatnonzero(is_tint)
    run = is_ink[at[0] : at[-1]]
    return int((np.diff(run.astype(int)) == 1).sum()), int(at[-1] - at[0])


def test_the_hatch_of_a_cut_lies_in_it_and_comes_closer_with_it(block, open_page):
    page = open_page(block[0])
    open_card(page, "cut")
    page.focus(".castview-canvas")
    found = [alternations(picture(page))]
    page.keyboard.press("+")
    found.append(alternations(picture(page)))
    # A step of the key is 1 / 0.85; as many lines stand in the cut, wider apart. Those at
    # its ends may come or go.
    assert found[1][1] > 1.08 * found[0][1]
    assert abs(found[1][0] - found[0][0]) <= 2 < found[0][0]


def spots(page):
    """Rectangles of the marks shown, and the places that they name, px of the picture."""
    return page.evaluate(
        """() => { const box = document.querySelector('.castview-labels').getBoundingClientRect();
        const lines = [...document.querySelectorAll('.castview-leaders path')];
        return [...document.querySelectorAll('.castview-mark')].map((one, k) => {
        const at = one.getBoundingClientRect();
        const end = lines[k].getAttribute('d').split('L')[1].split('m')[0].split(' ').map(Number);
        return [at.left - box.left, at.top - box.top, at.right - box.left, at.bottom - box.top,
        ...end, one.hidden, one.className]; }).filter((one) => !one[6]); }"""
    )


def test_marks_stand_beside_what_they_name_and_stay_round(posts, open_page):
    page = open_page(posts[0])
    open_card(page, "pour")
    picture(page)
    found = spots(page)
    assert len(found) >= 3
    for left, top, right, bottom, *_, kind in found:
        for other in found:
            x, y = other[4:6]
            assert not (left < x < right and top < y < bottom)
            if other[:4] != [left, top, right, bottom]:
                assert (
                    left >= other[2] or right <= other[0] or top >= other[3] or bottom <= other[1]
                )
        if "round" in kind:
            assert right - left == pytest.approx(bottom - top, abs=0.5)


def lowest(page):
    """The lowest place of the part on the canvas, (column, row) px."""
    rows, columns = np.nonzero(drawn(picture(page)))
    return int(columns[np.argmax(rows)]), int(rows.max())


def test_the_wheel_comes_closer_to_what_it_points_at(block, open_page):
    page = open_page(block[0])
    open_card(page, "thick")
    x, y = lowest(page)
    before = picture(page)
    box = page.locator(".castview-canvas").bounding_box()
    page.mouse.move(box["x"] + EDGE + x, box["y"] + EDGE + y - 2)
    page.mouse.wheel(0, -200)
    assert changed(before, picture(page)) > 0.02
    # The corner stays under the cursor; its outline is a pixel or two wide.
    assert lowest(page) == pytest.approx((x, y), abs=5)


def test_a_double_click_sets_what_it_turns_round(block, open_page):
    page = open_page(block[0])
    open_card(page, "thick")
    x, y = middle(page)
    page.mouse.dblclick(x - 40, y + 10)
    told = page.inner_text(".place-told code")
    picture(page)
    page.focus(".castview-canvas")
    page.keyboard.press("Enter")  # the middle of the picture
    there = [float(value) for value in page.inner_text(".place-told code").split(",")]
    assert there == pytest.approx([float(value) for value in told.split(",")], abs=0.3)


THROW = """async ([x, y, isHeld]) => { const canvas = document.querySelector('.castview-canvas');
const send = (kind, far) => canvas.dispatchEvent(new PointerEvent(kind,
  { pointerId: 1, clientX: x + far, clientY: y, buttons: 1, bubbles: true }));
for (const far of [20, 40, 60, 80, 100]) send('pointermove', far);
if (isHeld) await new Promise((go) => setTimeout(go, 300));
send('pointerup', 100); }"""


def test_a_picture_let_go_while_it_turns_goes_on_a_little_and_comes_to_rest(block, browser):
    context = browser.new_context(viewport=WIDE, reduced_motion="no-preference")
    page = context.new_page()
    page.goto(block[0].as_uri())
    page.locator("body.is-live").wait_for(state="attached")
    x, y = middle(page)

    def dragged(*, is_held):
        page.focus(".castview-canvas")
        page.keyboard.press("0")
        page.wait_for_timeout(900)
        page.mouse.move(x, y)
        page.mouse.down()
        # Moves and the end of the drag within a moment, however busy the computer is.
        page.evaluate(THROW, [x, y, is_held])
        page.mouse.up()
        page.wait_for_timeout(2500)
        return picture(page)

    held, thrown = dragged(is_held=True), dragged(is_held=False)
    assert changed(held, thrown) > 0.01
    assert changed(thrown, picture(page)) < 0.002  # at rest
    context.close()


def test_escape_calls_off_a_length_and_the_cursor_tells_that_one_is_taken(block, open_page):
    page = open_page(block[0])
    cursor = "getComputedStyle(document.querySelector('.castview-canvas')).cursor"
    assert page.evaluate(cursor) == "grab"
    open_card(page, "measure")
    assert page.evaluate(cursor) == "crosshair"
    page.focus(".castview-canvas")
    page.keyboard.press("Enter")
    assert page.inner_text("#length-text").startswith("A is set")
    page.keyboard.press("Escape")
    assert page.inner_text("#length-text") == "No point is set."


def test_a_camera_that_was_put_stays_from_card_to_card(block, open_page):
    page = open_page(block[0])
    open_card(page, "thick")
    page.focus(".castview-canvas")
    for key in ("ArrowLeft", "ArrowLeft", "ArrowUp", "+"):
        page.keyboard.press(key)
    put = picture(page)
    for key in ("pour", "watch", "thick"):
        open_card(page, key)
    assert changed(put, picture(page)) < 0.002
    page.click("#whole")
    assert changed(put, picture(page)) > 0.02


RAYS = """(n) => { const rows = [];
const ball = (() => { const points = [], faces = [], across = Math.round(Math.sqrt(n / 2));
  const up = across;
  for (let j = 0; j <= up; j += 1) for (let i = 0; i < across; i += 1) {
    const v = Math.PI * j / up, u = 2 * Math.PI * i / across;
    points.push(Math.sin(v) * Math.cos(u), Math.sin(v) * Math.sin(u), Math.cos(v)); }
  for (let j = 0; j < up; j += 1) for (let i = 0; i < across; i += 1) {
    const a = j * across + i, b = j * across + (i + 1) % across;
    faces.push(a, a + across, b, b, a + across, b + across); }
  return { points: new Float32Array(points), faces: new Uint32Array(faces) }; })();
for (let k = 0; k < 200; k += 1) {
  const x = ((k * 0.618) % 1) * 2.4 - 1.2, y = ((k * 0.755) % 1) * 2.4 - 1.2;
  const hit = window.meet(ball, [x, y, 5], [0, 0, -1], (px) => k % 2 || px < 0);
  rows.push([x, y, k % 2, hit && hit.distance]); }
return rows; }"""


def test_rays_meet_a_ball_where_they_must(browser):
    page = browser.new_page()
    script = page_script().removesuffix("start();\n")
    page.add_script_tag(content=f"{script}\nwindow.meet = meet;", type="module")
    page.wait_for_function("window.meet !== undefined")
    n_hit = 0
    for x, y, is_all, distance in page.evaluate(RAYS, 20_000):
        off = x * x + y * y
        # Facets of 1.8 degrees lie up to 1 - cos(1.8 deg) = 0.0005 inside the ball; at its
        # rim that much across is far more along the ray.
        if off > 1.0 or (not is_all and x >= 0):
            assert distance is None
        elif off < 0.8:
            n_hit += 1
            assert distance == pytest.approx(5 - np.sqrt(1 - off), abs=0.003)
    assert n_hit > 40
    page.close()
