"""The kind of mould chosen on the page, and taken back."""

import page_server
import pytest
import shapes

# A block lies flat on any side: nothing is behind it.
BLOCK = page_server.stl_of(shapes.box(60, 30, 10))


@pytest.fixture
def page(browser, served):
    """A block, planned in two halves, on a page that must not complain."""
    made = served.client.post(
        "/api/jobs", params={"name": "block.stl", "units": "mm"}, content=BLOCK
    ).json()
    context = browser.new_context(viewport={"width": 1280, "height": 800}, reduced_motion="reduce")
    opened = context.new_page()
    opened.set_default_timeout(60_000)
    complaints = []
    opened.on("console", lambda said: complaints.append(said.text) if said.type == "error" else 0)
    opened.on("pageerror", lambda error: complaints.append(str(error)))
    opened.goto(f"{served.url}/#{made['key']}")
    opened.wait_for_selector(".castview-canvas")
    yield opened
    context.close()
    assert complaints == []


def test_an_open_mould_is_chosen_and_undone(page):
    chosen = page.get_by_label("Which mould?")
    assert chosen.input_value() == "two-part"
    chosen.select_option("open")
    card = page.locator("#card-split")
    page.wait_for_function(
        "() => document.querySelector('#card-split')?.innerText.includes('open')"
        " && !document.querySelector('#card-split')?.innerText.includes('How does the split run?')"
    )
    assert "Mould it open, lying on its flat back" in card.inner_text()
    page.get_by_role("button", name="Undo", exact=False).first.click()
    page.wait_for_function(
        "() => document.querySelector('#card-split')?.innerText.includes('How does the split run?')"
    )
    assert page.get_by_label("Which mould?").input_value() == "two-part"
