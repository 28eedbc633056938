"""Hostile words on the page: job, tin and note are shown as text, in the system's browser.

Values are invented here.
"""

import hostile
import page_server
import pytest
import shapes

from castplan.materials.folder import card_file, keep
from castplan.materials.sheet import card_or_problems, card_text

# The words and their sources stand in `hostile`; the judge is the browser.
MARKUP = hostile.MARKUP
SHOWN = "<img src=x onerror=alert(1)>"


@pytest.fixture
def home(shop_folder):
    """The shop's folder with a tin of a hostile name."""
    keep(card_file("ours"), card_text(card_or_problems("ours", hostile.SHEET)))
    return shop_folder


@pytest.mark.long
@pytest.mark.usefixtures("home")
def test_names_and_notes_are_text(served, browser):
    client = served.client
    body = page_server.stl_of(shapes.box(40.0, 30.0, 20.0))
    told = {"name": f"N {MARKUP}.stl", "units": "mm"}
    key = client.post("/api/jobs", params=told, content=body).json()["key"]
    choices = {"silicone": "ours", "mould": "two-part", "draw": [0, 0, 1]}
    at = client.get(f"/api/jobs/{key}").json()["at"]
    assert client.patch(f"/api/jobs/{key}", json={"at": at, "choices": choices}).status_code == 200
    page_server.until(
        lambda: client.get(f"/api/jobs/{key}").json()["plan"]["state"] == "done", seconds=120
    )
    pour = {"date": "2026-12-01", "note": f"O {MARKUP}", "lots": [f"L {MARKUP}"]}
    assert client.post(f"/api/jobs/{key}/pours", json=pour).status_code == 201
    context = browser.new_context()
    page = context.new_page()
    page.set_default_timeout(60_000)
    ran = []
    page.on("dialog", lambda dialog: (ran.append(dialog.message), dialog.dismiss()))
    page.on("pageerror", lambda error: ran.append(str(error)))
    page.on("request", lambda asked: asked.url.endswith("/x") and ran.append(asked.url))
    page.goto(f"{served.url}/#{key}")
    page.wait_for_selector("#card-split")
    text = page.evaluate("document.body.textContent")
    page.goto(f"{served.url}/#{key}/casts")
    page.locator("ul.list .name", has_text="O <img src=x").wait_for()
    text += page.evaluate("document.body.textContent")
    # A job's name goes without what no file may be called.
    for start in ("N  img src=x", f"T {SHOWN}", f"O {SHOWN}"):
        assert " ".join(start.split()) in " ".join(text.split()), start
    page.goto(served.url)
    page.wait_for_selector("text=N img")
    assert ran == [] and page.locator("[onerror], [onload], img[src=x]").count() == 0
    context.close()


@pytest.mark.parametrize("word", hostile.WORDS)
def test_words_the_page_takes_can_be_shown_or_are_refused(served, word):
    client = served.client
    made = client.post("/api/jobs", params={"name": f"{word}.stl"}, content=b"solid x")
    name = made.json()["name"]
    assert made.status_code == 201 and name.isprintable() and 0 < len(name) <= 80
    key = made.json()["key"]
    is_shown = word.isprintable()
    told = {"date": "2026-12-01", "note": word}
    status = client.post(f"/api/jobs/{key}/pours", json=told).status_code
    assert status == (201 if is_shown and len(word) <= 1000 else 422)
    copied = client.post(f"/api/jobs/{key}/copy", json={"name": word}).json()["name"]
    assert copied.isprintable() and 0 < len(copied) <= 80
    refused = client.patch(f"/api/jobs/{key}", json={"at": 1, "choices": {"resin": word}})
    assert refused.status_code in (200, 422)
    for answer in (refused, client.get(f"/api/jobs/{key}", params={"wait": 20})):
        assert answer.headers["content-type"] == "application/json"
        assert not set(answer.json().get("error", "")) & set(hostile.UNSHOWN)
    disposition = client.get(f"/api/jobs/{key}/pours.csv").headers["content-disposition"]
    assert disposition.isprintable() and disposition.isascii()
