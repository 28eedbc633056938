"""The page in another language: every word that it shows comes out of the catalogue.

A catalogue of Greek letters is spoken; a Latin word that the page then shows is one
that no translation could reach. What the shop named is named in Greek letters here.

Values are invented here.
"""

import re

import httpx
import page_cards
import page_server
import pytest
import shapes
from output.greek import SYMBOLS, TOLD, greek_catalogue

from castplan import texts
from castplan.page import samples
from castplan.part.read import FORMATS

pytestmark = pytest.mark.long

TOWERS = page_server.stl_of(shapes.two_towers((60, 30, 10), 16, (20, 35)))
STAND = {"draw": [0, 1, 0], "up": [0, 0, 1], "feed": "top"}
VOID = {
    "date": "2026-12-02",
    "result": "usable",
    "defects": [{"kind": "void", "where_mm": [-15.0, 0.0, 29.0], "told": "-15,0,29"}],
}
OPEN = "document.querySelectorAll('details').forEach((one) => { one.open = true; })"
# How a length of the original is written is the same in every language.
EXAMPLE = "longest=142mm"
NAMES = set(re.findall("[A-Za-z]{2,}", " ".join([*FORMATS, *samples.names()]).replace("_", " ")))


def latin(page, within="html", own=frozenset()):
    """Texts of a part of the page with a word of two Latin letters or more that is no symbol."""
    told = [re.sub(r"<[^>]*>", " ", text) for text in page.locator(within).evaluate(TOLD)]
    assert len(told) > 5
    left = {text for text in told if set(re.findall("[A-Za-z]{2,}", text)) - SYMBOLS - own}
    return sorted(left - {EXAMPLE})


@pytest.fixture(scope="module")
def greek():
    texts.use(greek_catalogue() | {"language.code": "el"})
    yield
    texts.use({})


@pytest.fixture(scope="module")
def served(greek, tmp_path_factory):
    """A server that speaks Greek from its start."""
    with page_server.serving(tmp_path_factory.mktemp("greek") / "jobs") as running:
        headers = {"x-castplan-token": page_server.TOKEN}
        with httpx.Client(base_url=running.url, headers=headers, timeout=60) as client:
            running.client = client
            yield running


@pytest.fixture(scope="module")
def keys(served):
    """Two jobs that are planned, one of them with a pour, one that is put away."""

    def add(name, data, **units):
        made = served.client.post("/api/jobs", params={"name": name, **units}, content=data)
        return made.json()["key"]

    def planned(key):
        told = {"plan": {"state": "waiting"}}
        while told["plan"]["state"] in ("waiting", "busy"):
            told = served.client.get(f"/api/jobs/{key}", params={"wait": 20}).json()
        return told

    box = page_server.stl_of(shapes.box(40.0, 30.0, 20.0))
    found = {
        "plan": add("πυργοι.stl", TOWERS, units="mm"),
        "other": add("κουτι.stl", box, units="mm"),
        "units": add("ραφι.stl", box),
    }
    told = served.client.patch(f"/api/jobs/{found['plan']}", json={"at": 1, "choices": STAND})
    assert told.status_code == 200
    assert planned(found["plan"])["plan"]["state"] == "done"
    assert planned(found["other"])["plan"]["state"] == "done"
    assert planned(found["units"])["plan"]["state"] == "wrong"
    served.client.post(f"/api/jobs/{found['plan']}/pours", json=VOID)
    copy = served.client.post(f"/api/jobs/{found['other']}/copy", json={}).json()
    assert not re.search("[A-Za-z]", copy["name"])
    served.client.post(f"/api/jobs/{copy['key']}/archive", json={"is_archived": True})
    return found


@pytest.fixture
def page(browser):
    context = browser.new_context(
        viewport={"width": 1280, "height": 800}, reduced_motion="reduce", locale="en-GB"
    )
    opened = context.new_page()
    opened.set_default_timeout(60_000)
    yield opened
    context.close()


def test_the_first_page(page, served, keys):
    page.goto(served.url)
    page.wait_for_selector(".list")
    page.evaluate(OPEN)
    assert latin(page, own=NAMES) == []
    assert page.locator("html").get_attribute("lang") == "el"


def test_a_job_without_its_unit(page, served, keys):
    page.goto(f"{served.url}/#{keys['units']}")
    page.wait_for_selector(".wrong .controls button")
    assert latin(page) == []


def test_the_cards_with_all_that_opens(page, served, keys):
    page.goto(f"{served.url}/#{keys['plan']}")
    page.wait_for_selector(".castview-canvas")
    for card in ("part", "kind", "split", "stand", "air", "box", "materials", "files"):
        page_cards.open_card(page, card)
        page.evaluate(OPEN)
        if card in ("split", "stand"):
            page.wait_for_selector(f"#card-{card} canvas.disc")
        assert latin(page) == []


def test_two_plans_side_by_side(page, served, keys):
    page.goto(f"{served.url}/#compare/{keys['plan']},{keys['other']}")
    page.wait_for_selector("thead th")
    assert latin(page) == []


def test_the_bench(page, served, keys):
    steps = served.client.get(f"/api/jobs/{keys['plan']}/cards").json()["steps"]
    kinds = {
        "waits": next(step for step in steps if step["wait_min"] and not step["is_pour"]),
        "pours": next(step for step in steps if step["is_pour"]),
        "holds": next(step for step in steps if step["is_hold"]),
        "all": {"number": "all"},
        "weighs": next(step for step in steps if step["mixes"] and not step["is_pour"]),
    }
    for kind, step in kinds.items():
        page.goto(f"{served.url}/#{keys['plan']}/bench/{step['number']}")
        page.wait_for_selector(".steps" if kind == "all" else f"#card-step-{step['number']}")
        for button in page.locator(".step .row.controls button").all():
            button.click()
        if kind == "holds":
            page.click(".steps-nav .main")
        assert latin(page) == []
    page.locator(".field input[type=number]").first.fill("123.4")
    page.locator(".field input[type=number]").first.press("Tab")

    def marks():
        return served.client.get(f"/api/jobs/{keys['plan']}").json()["marks"]

    page_server.until(lambda: 123.4 in marks().values())
    # What is kept is found again in every language.
    assert all(name.isascii() for name in marks()) and len(marks()) > 3


def test_the_log_of_pours_with_a_diagnosis(page, served, keys):
    page.goto(f"{served.url}/#{keys['plan']}/casts")
    page.wait_for_selector(".causes")
    page.evaluate(OPEN)
    page.locator("fieldset input[type=number]").fill("3")
    page.locator("fieldset button").last.click()
    page.wait_for_selector("fieldset li")
    assert latin(page, own={"deg"}) == []


def test_the_room_beside_each_card(page, served, keys):
    page.goto(f"{served.url}/#{keys['plan']}")
    page.wait_for_selector(".castview-canvas")
    notes = set()

    def click_middle():
        page.locator(".castview-canvas").focus()
        page.keyboard.press("Enter")
        notes.add(page.locator(".strip .note").inner_text())
        assert latin(page, "#room") == []

    for card in ("part", "split", "stand", "air", "box", "materials"):
        page_cards.open_card(page, card)
        choice = page.locator(".strip select")
        for at in range(choice.locator("option").count()):
            choice.select_option(index=at)
            click_middle()
        click_middle()
    page_cards.open_card(page, "air")
    page.click("#card-air .list button >> nth=0")  # a place of the plan, with what to do there
    click_middle()
    page.click("#measure")
    assert latin(page, "#room") == []
    click_middle()
    click_middle()
    page.locator(".units button").last.click()
    page.wait_for_selector("html[data-unit=inch]")
    assert latin(page, "#room") == []
    assert any("°" in note for note in notes) and len(notes) > 5


def test_a_word_that_no_translation_reaches_is_found(page, served, keys):
    page.goto(served.url)
    page.wait_for_selector(".list")
    page.evaluate("document.querySelector('.drop').setAttribute('title', 'drop it, 12 mm')")
    assert latin(page, own=NAMES) == ["drop it, 12 mm"]
