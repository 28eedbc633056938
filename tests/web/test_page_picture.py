"""The picture beside the cards has all that the file's has, and keeps the camera that was put.

How much of a picture has to change is assumed; sizes are closed forms of `shapes`.
"""

import page_cards
import page_server
import pytest
import shapes
from view_picture import changed, drawn, picture, share_of

BLOCK = page_server.stl_of(shapes.t_slot())


@pytest.fixture(scope="module")
def key(served):
    """A block with an undercut slot, planned in two halves."""
    client = served.client
    made = client.post("/api/jobs", params={"name": "block.stl", "units": "mm"}, content=BLOCK)
    key = made.json()["key"]
    choices = {"draw": [0, 0, 1], "up": [0, 0, 1], "mould": "two-part"}
    client.patch(f"/api/jobs/{key}", json={"at": 1, "choices": choices})
    page_server.until(
        lambda: (
            client.get(f"/api/jobs/{key}", params={"wait": 20}).json()["plan"]["state"] == "done"
        ),
        seconds=180,
    )
    return key


@pytest.fixture
def page(on_a_page, key):
    """The job on a page that must not complain."""
    with on_a_page(key) as opened:
        yield opened


def follow(page, card):
    """Have the picture follow a card, by opening it."""
    page_cards.open_card(page, card)
    page.wait_for_function(
        "card => document.querySelector('#main').dataset.followed === card", arg=card
    )


def shade(page, card):
    """The mark at the side of a card."""
    return page.evaluate(
        "key => getComputedStyle(document.getElementById(key)).boxShadow", f"card-{card}"
    )


def test_the_card_that_the_picture_follows_is_marked_there_and_here(page):
    follow(page, "split")
    assert shade(page, "split") != "none" and shade(page, "box") == "none"
    assert page.inner_text(".follows").startswith("The picture shows this card: ")
    follow(page, "box")
    assert shade(page, "box") != "none" and shade(page, "split") == "none"


def test_it_plays_the_pour(page):
    follow(page, "air")
    slider = page.locator("[data-share=film]")
    slider.evaluate("one => { one.value = 0; one.dispatchEvent(new Event('input')); }")
    first = page.inner_text(".strip .note")
    page.click("#play")
    assert page.inner_text("#play") == "Stop"
    page.wait_for_function(
        "first => document.querySelector('.strip .note').textContent !== first", arg=first
    )
    page.click("#play")
    assert page.inner_text("#play") == "Play the pour"
    assert float(slider.input_value()) > 0


def test_it_is_cut_three_ways_and_says_where(page):
    follow(page, "box")
    seen = []
    for axis, words in (("y", "front"), ("x", "left"), ("z", "base board")):
        page.check(f".strip input[name=axis][value={axis}]", force=True)
        assert words in page.inner_text(".strip .note")
        seen.append(picture(page))
    assert changed(seen[0], seen[1]) > 0.02 and changed(seen[1], seen[2]) > 0.02


def test_bodies_are_put_away_and_stay_away(page):
    follow(page, "split")
    assert share_of(picture(page), "#4fa4d6", within=25) > 0.02
    page.uncheck(".bodies input[value=upper]", force=True)
    assert share_of(picture(page), "#4fa4d6", within=25) < 0.002
    follow(page, "box")
    follow(page, "split")
    assert not page.is_checked(".bodies input[value=upper]")
    assert share_of(picture(page), "#4fa4d6", within=25) < 0.002
    page.check(".bodies input[value=upper]", force=True)


def test_how_it_is_turned_is_told_with_a_button_for_each_face(page):
    page.click(".strip summary")
    assert page.locator(".turning button").count() == 6  # sides of a block
    face = page.locator(".turning button").nth(3)
    face.click()
    page.wait_for_function(
        "name => document.querySelector('.castview-gizmo p').textContent === name",
        arg=face.inner_text(),
    )


def test_scrolling_past_cards_leaves_a_camera_that_was_put(page):
    follow(page, "split")
    page.focus(".castview-canvas")
    for each in ("ArrowLeft", "ArrowLeft", "+"):
        page.keyboard.press(each)
    put = picture(page)
    for card in ("box", "air", "stand", "materials", "split"):
        follow(page, card)
    # The strip below may take a line more or less of the picture.
    assert changed(put, picture(page)) < 0.02


def test_escape_calls_off_a_length(page):
    page.click("#measure")
    page.focus(".castview-canvas")
    page.keyboard.press("Enter")
    page.keyboard.press("Escape")
    assert page.get_attribute("#measure", "aria-pressed") == "false"
    assert page.locator(".castview-mark:has-text('A')").count() == 0


def test_what_did_not_change_is_not_sent_again_and_undo_asks_for_no_picture(page):
    follow(page, "split")
    page.wait_for_selector("#room[data-at]")
    asked = []
    page.on("response", lambda answer: asked.append(answer) if "/view" in answer.url else None)
    first = page.get_attribute("#room", "data-at")
    # Boards stand round the box: no surface of the picture is another for them.
    page_cards.open_card(page, "box")
    page.click("#card-box summary:has-text('More about the box')")
    page.get_by_label("Boards (mm)").fill("9")
    page.get_by_label("Boards (mm)").press("Tab")
    at_another = "at => document.querySelector('#room').dataset.at !== at"
    page.wait_for_function(at_another, arg=first)
    page.wait_for_timeout(500)
    assert len(asked) == 1 and "known=" in asked[0].url
    # Words and lines alone; the part's surface would be more.
    assert len(asked[0].body()) < 60_000
    page.click("button:has-text('Undo')")
    page.wait_for_function("at => document.querySelector('#room').dataset.at === at", arg=first)
    page.wait_for_timeout(1500)
    assert len(asked) == 1


def test_the_part_is_shown_while_its_first_plan_is_made(served, browser):
    client = served.client
    body = page_server.stl_of(shapes.tray())
    key = client.post("/api/jobs", params={"name": "t.stl", "units": "mm"}, content=body).json()[
        "key"
    ]
    told = client.get(f"/api/jobs/{key}/mesh").json()
    # A tray of 60 x 40 x 15 mm, on a grid of 65535 steps: closed form of `shapes.tray`.
    extent = [65535 * step for step in told["meshes"]["part"]["step"]]
    assert extent == pytest.approx([60.0, 40.0, 15.0], rel=1e-6)
    assert told["box"] is None
    opened = browser.new_page()
    # As if the plan took for ever.
    busy = client.get(f"/api/jobs/{key}").json()
    busy["plan"] = {**busy["plan"], "state": "busy", "stage": "read", "fraction": 0.1}
    opened.route(f"**/api/jobs/{key}", lambda route: route.fulfill(json=busy))
    asked = []
    opened.on("request", lambda request: asked.append(request.url))
    opened.route(f"**/api/jobs/{key}?wait=*", lambda route: route.fulfill(json=busy))
    opened.goto(f"{served.url}/#{key}")
    # Not before it is read: its unit may be missing.
    opened.wait_for_function("() => document.querySelector('#doing progress')")
    opened.wait_for_timeout(300)
    assert not any("/mesh" in url for url in asked)
    busy["plan"]["stage"] = "draw"
    opened.wait_for_selector(".castview-canvas")
    assert "as the file holds it" in opened.inner_text("#room .note")
    assert drawn(picture(opened)).mean() > 0.05
    opened.close()
