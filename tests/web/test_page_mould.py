"""The kind of mould chosen on the page, and taken back."""

import page_cards
import page_server
import pytest
import shapes

# A block lies flat on any side: nothing is behind it.
BLOCK = page_server.stl_of(shapes.box(60, 30, 10))


@pytest.fixture
def page(on_a_page, served):
    """A block on a page that must not complain."""
    made = served.client.post(
        "/api/jobs", params={"name": "block.stl", "units": "mm"}, content=BLOCK
    ).json()
    with on_a_page(made["key"]) as opened:
        page_cards.open_card(opened, "kind")
        yield opened


def test_an_open_mould_is_chosen_and_undone(page):
    chosen = page.get_by_label("Kind of mould")
    assert chosen.input_value() == "auto"
    chosen.select_option("two-part")
    _wait_for(page, "Make a mould in two halves")
    chosen.select_option("open")
    _wait_for(page, "Make an open mould")
    told = page.locator("#card-split").text_content()
    assert "Mould it open, lying on its flat back" in told
    # It is not parted, and its back is its opening: neither is to be chosen.
    for words in ("Kind of parting", "Height of a flat parting", "Gate", "Add a vent"):
        assert page.get_by_label(words, exact=True).count() == 0
    assert page.locator("#card-air .controls :is(input, select, button)").count() == 0
    page.get_by_role("button", name="Undo", exact=False).first.click()
    _wait_for(page, "Make a mould in two halves")
    assert page.get_by_label("Kind of mould").input_value() == "two-part"


def _wait_for(page, told):
    page.wait_for_function(
        "told => document.querySelector('#card-kind')?.textContent.includes(told)", arg=told
    )


def test_a_mould_that_is_cut_open_is_chosen_and_told(page):
    page.get_by_label("Kind of mould").select_option("cut")
    page.wait_for_function(
        "() => document.querySelector('#card-split')?.textContent.includes('Cut the block open')"
    )
    told = page.locator("#card-split").text_content()
    assert "stay uncut as a hinge" in told and "Draw the halves apart" not in told
    kinds = page.locator("#card-box").text_content()
    assert "the zig-zag of the cut" in kinds.lower()
