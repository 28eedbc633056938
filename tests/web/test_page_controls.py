"""Controls of the cards whose choice the plan has to follow, in Debian's chromium.

The part is a box of 40 x 30 x 20 mm: what has to come out are closed forms.
"""

import page_cards
import page_server
import pytest
import shapes

pytestmark = pytest.mark.long

SIZE_MM = (40.0, 30.0, 20.0)
LEDGE = page_server.stl_of(shapes.box(*SIZE_MM))


@pytest.fixture(scope="module")
def key(served):
    """The box, planned in two halves."""
    made = served.client.post(
        "/api/jobs", params={"name": "ledge.stl", "units": "mm"}, content=LEDGE
    )
    key = made.json()["key"]
    at = served.client.get(f"/api/jobs/{key}", params={"wait": 20}).json()["at"]
    served.client.patch(f"/api/jobs/{key}", json={"at": at, "choices": {"mould": "two-part"}})
    served.client.get(f"/api/jobs/{key}", params={"wait": 20})
    return key


@pytest.fixture
def page(browser, served, key):
    """The job on a page; what a test chose is taken back after it."""
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    opened = context.new_page()
    opened.set_default_timeout(60_000)
    opened.goto(f"{served.url}/#{key}")
    opened.wait_for_selector("#card-box")
    yield opened
    context.close()
    told = served.client.get(f"/api/jobs/{key}").json()
    none = {name: None for name in told["choices"] if name not in ("units", "mould")}
    served.client.patch(f"/api/jobs/{key}", json={"at": told["at"], "choices": none})


def choose(page, label, value):
    """Type a number into the control of that label, and wait for the new plan."""
    control = page.get_by_label(label, exact=True)
    control.fill(str(value))
    control.press("Enter")
    planned(page)


def planned(page):
    page.wait_for_function("() => document.querySelector('#doing').textContent === 'Saved'")


def told(page, card):
    """All that a card says, what is folded away too."""
    return page.locator(f"#card-{card}").text_content()


def choices(served, key):
    return served.client.get(f"/api/jobs/{key}").json()["choices"]


def test_the_face_that_shows_is_kept_free_of_the_seam(page, served, key):
    x_mm, y_mm, z_mm = SIZE_MM
    assert f"The seam is {2 * (x_mm + y_mm):.0f} mm" in told(page, "split")
    assert (
        "mm of it on the side that will be seen"
        not in page.locator("#card-split details").last.text_content()
    )
    page_cards.open_card(page, "part")
    page.get_by_label("Which side will be seen?").select_option("+x")
    page_cards.whose(page, "part", "your choice")
    planned(page)
    assert choices(served, key)["show_face"] == [1, 0, 0]
    # Pulled off the face that shows, the seam runs round the face behind it.
    assert "(the file's +x) facing up" in page.locator("#card-split .decision").text_content()
    assert (
        f"The seam is {2 * (y_mm + z_mm):.0f} mm long in 1 loop, "
        "0 mm of it on the side that will be seen." in told(page, "split")
    )


def test_the_gate_is_as_wide_as_it_was_asked_for(page, served, key):
    assert "bore is 6 mm" in told(page, "air")
    page_cards.open_card(page, "air")
    folds = page.locator("#card-air details")
    folds.evaluate_all("all => all.forEach((one) => { one.open = true; })")
    choose(page, "Bore of the gate (mm)", 9)
    page_cards.whose(page, "air", "your choice")
    assert choices(served, key)["gate_mm"] == 9
    undo = page.locator("#actions button:has-text('Undo')")
    assert undo.get_attribute("title") == "Undo: bore of the gate"
    assert "bore is 9 mm" in told(page, "air") and "bore is 6 mm" not in told(page, "air")
    gate = page.locator("#card-air tbody tr", has_text="cup").first
    assert gate.locator("th, td").all_text_contents()[:3] == ["G", "straight up", "9 mm"]
    page.click("#card-air button:has-text('Let castplan choose again')")
    page_cards.whose(page, "air", "")
    planned(page)
    assert "bore is 6 mm" in told(page, "air")


def test_the_box_is_the_part_and_its_allowances(page, served, key):
    wall_mm, over_mm, under_mm = 20, 25, 18
    page_cards.open_card(page, "box")
    page.locator("#card-box summary:has-text('More about the box')").click()
    choose(page, "Silicone below the part (mm)", under_mm)
    choose(page, "Silicone beside the part (mm)", wall_mm)
    choose(page, "Silicone above the part (mm)", over_mm)
    assert choices(served, key) == {
        "units": "mm",
        "mould": "two-part",
        "wall_mm": wall_mm,
        "over_mm": over_mm,
        "under_mm": under_mm,
    }
    x_mm, y_mm, z_mm = SIZE_MM
    inside_mm = (x_mm + 2 * wall_mm, y_mm + 2 * wall_mm, z_mm + over_mm + under_mm)
    size = " x ".join(f"{side:.0f}" for side in inside_mm)
    assert f"Box of four boards, {size} mm" in page.locator("#card-box .decision").text_content()
    silicone_ml = (inside_mm[0] * inside_mm[1] * inside_mm[2] - x_mm * y_mm * z_mm) / 1000
    assert f"{silicone_ml:.0f} ml" in page.locator("#card-box .reason").first.text_content()
    # So much lies over the part: the gate goes through it.
    assert f"{over_mm} mm" in page.locator("#card-air tbody tr", has_text="cup").first.inner_html()
