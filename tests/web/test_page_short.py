"""The plan on two screens, its decisions and its unit of length, in Debian's chromium.

Values are invented here; the judge is the browser.
"""

import re

import page_cards
import page_server
import pytest
import shapes

LEDGE = page_server.stl_of(shapes.box(40.0, 30.0, 20.0))
HIGH = 800
CARDS = ("part", "kind", "split", "stand", "air", "box", "materials", "files")


@pytest.fixture(scope="module")
def key(served):
    """A box, planned in two halves."""
    made = served.client.post(
        "/api/jobs", params={"name": "ledge.stl", "units": "mm"}, content=LEDGE
    )
    key = made.json()["key"]
    served.client.patch(f"/api/jobs/{key}", json={"at": 1, "choices": {"mould": "two-part"}})
    page_cards.planned(served, key)
    return key


@pytest.fixture
def page(browser, served, key):
    """The job on a page of its own."""
    context = browser.new_context(viewport={"width": 1280, "height": HIGH})
    opened = context.new_page()
    opened.set_default_timeout(30_000)
    opened.goto(f"{served.url}/#{key}")
    opened.wait_for_selector("#card-files")
    yield opened
    context.close()


def test_the_first_screen_says_what_to_watch_what_it_costs_and_prints(page):
    short = page.locator("#card-short")
    assert "mould in two halves" in short.locator(".decision").inner_text()
    words = short.inner_text()
    for what in ("Silicone", "Resin", "Work by hand", "Done"):
        assert what in words
    assert re.search(r"Silicone\s+\d+ g", words)
    box = short.locator("button:has-text('Print')").bounding_box()
    assert box["y"] + box["height"] < HIGH
    # All decisions with their answers: two screens.
    assert page.evaluate("document.documentElement.scrollHeight") <= 2 * HIGH
    for card in CARDS:
        assert len(page.locator(f"#card-{card} .answer").inner_text()) > 3


def test_one_decision_is_open_at_a_time_and_stays_so_after_a_reload(page):
    page_cards.open_card(page, "air")
    page_cards.open_card(page, "box")
    assert page.locator(".body:visible").count() == 1
    page.reload()
    page.wait_for_selector("#body-box", state="visible")
    assert page.locator(".body:visible").count() == 1


def test_every_length_is_told_in_the_unit_that_is_chosen(page, served, key):
    for card in CARDS:
        page_cards.open_card(page, card)
        assert " in)" not in page.locator(f"#card-{card}").inner_text()
    page.locator(".units button").last.click()
    page.wait_for_selector("#card-part .answer:has-text(' in')")
    for card in CARDS:
        page_cards.open_card(page, card)
        told = page.locator(f"#card-{card}").inner_text()
        assert re.findall(r"[\d.]+ mm\b(?![²³])", told) == [], card
    # A number is typed in inches, and kept in millimetres: 1 in is 25.4 mm.
    page_cards.open_card(page, "box")
    page.get_by_label("Silicone beside the part (in)").fill("0.5")
    page.get_by_label("Silicone beside the part (in)").press("Tab")
    page_cards.whose(page, "box", "your choice")
    page_cards.saved(page)
    assert page_cards.choices(served, key)["wall_mm"] == 12.7
    page.click("button:has-text('Undo')")
    page_cards.whose(page, "box", "")
    page_cards.saved(page)
    page.locator(".units button").first.click()
    page.wait_for_selector("#card-part .answer:has-text('mm')")


def test_the_only_vent_beside_the_gate_is_not_taken_away(page, served, key):
    """A box has one flat high side: gate and vent stand on it, and both are needed."""
    page_cards.open_card(page, "air")
    assert page.locator("#card-air li button:has-text('Remove')").count() == 1
    page.click("#card-air li button:has-text('Remove')")
    page.wait_for_selector("#vent-stays:has-text('One opening cannot let resin in and air out')")
    assert "vents_at" not in page_cards.choices(served, key)


def test_on_paper_every_decision_stands_open_and_no_button_is_left(page):
    page.emulate_media(media="print")
    assert page.locator(".body:visible").count() == len(CARDS)
    assert page.locator("header").is_hidden() and page.locator("#room").is_hidden()
    assert page.locator("#card-short button:visible").count() == 0
