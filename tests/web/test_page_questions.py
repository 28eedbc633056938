"""What the page asks where one answer makes a plan of a mesh, in Debian's chromium.

Volumes are closed forms of the bodies made here.
"""

import numpy as np
import page_server
import pytest
import shapes

# Volumes are the closed forms of a box. The record carries six digits, and STL holds
# these sides exactly: half of the last digit is 0.05 mm3.
WITHIN_MM3 = 0.05


def without_its_floor():
    """A box of 40 x 30 x 20 mm whose lower side nobody scanned."""
    body = shapes.box(40.0, 30.0, 20.0)
    lowest = body.vertices_mm[:, 2].min()
    is_floor = (body.vertices_mm[body.faces][:, :, 2] == lowest).all(axis=1)
    assert is_floor.any()
    return page_server.stl_of(body._replace(faces=body.faces[~is_floor]))


def flat(corners_mm, faces):
    """A mesh without thickness."""
    return page_server.stl_of(shapes.Body(np.array(corners_mm), np.array(faces), 0.0, None, {}))


SHEET = flat([[0, 0, 0], [60, 0, 0], [60, 40, 0], [0, 40, 0]], [[0, 1, 2], [0, 2, 3]])
BATTEN = page_server.stl_of(shapes.box(2200.0, 60.0, 40.0))


@pytest.fixture
def ask(served, browser):
    """Open a mesh that cannot be planned as it is; gives the page and the job's key."""
    context = browser.new_context(viewport={"width": 1280, "height": 800})

    def opened(data, name, **query):
        made = served.client.post("/api/jobs", params={"name": name, **query}, content=data)
        page = context.new_page()
        page.set_default_timeout(60_000)
        page.goto(f"{served.url}/#{made.json()['key']}")
        page.wait_for_selector(".wrong .controls button")
        return page, made.json()["key"]

    yield opened
    context.close()


def answer(served, key):
    """What was asked for, as the server tells it."""
    return served.client.get(f"/api/jobs/{key}", params={"wait": 20}).json()["plan"]["asks"]


def volume_mm3(served, page, key):
    """Of the part, once its plan is shown."""
    page.wait_for_selector("#card-split")
    plan = served.client.get(f"/api/jobs/{key}/files/plan.json").json()
    return plan["part"]["check"]["volume_mm3"]


@pytest.mark.long
def test_without_a_unit_it_offers_sizes(served, ask):
    page, key = ask(page_server.stl_of(shapes.box(40.0, 30.0, 20.0)), "shelf.stl")
    assert answer(served, key) == "unit"
    assert page.locator(".wrong h2").inner_text() == "How large is the part?"
    page.click(".wrong .controls button:has-text('matchbox')")
    assert volume_mm3(served, page, key) == pytest.approx(24_000.0, abs=WITHIN_MM3)


@pytest.mark.long
def test_a_size_hard_to_believe_may_be_meant(served, ask):
    page, key = ask(BATTEN, "batten.stl", units="mm")
    assert answer(served, key) == "size"
    offered = page.locator(".wrong .controls button")
    # The file's own unit stands first.
    assert offered.count() == 4
    assert offered.first.inner_text().startswith("Yes, it is 2200 x 60 x 40 mm")
    offered.first.click()
    page.wait_for_selector("#card-split")
    kept = served.client.get(f"/api/jobs/{key}").json()["choices"]
    assert (kept["units"], kept["is_size_meant"]) == ("mm", True)


@pytest.mark.long
def test_a_missing_side_is_closed_flat(served, ask):
    page, key = ask(without_its_floor(), "lid.stl", units="mm")
    assert answer(served, key) == "back"
    assert page.locator(".wrong .decision").inner_text().startswith("lid.stl: found a surface")
    page.click(".wrong button:has-text('flat')")
    assert volume_mm3(served, page, key) == pytest.approx(24_000.0, abs=WITHIN_MM3)


@pytest.mark.long
def test_a_sheet_is_given_its_thickness(served, ask):
    page, key = ask(SHEET, "sheet.stl", units="mm")
    assert answer(served, key) == "thickness"
    assert page.locator(".wrong .decision").inner_text().startswith("sheet.stl: found no size")
    # A plane has no other plane to close it to.
    assert page.locator(".wrong button:has-text('flat')").count() == 0
    page.fill(".wrong input", "2.5")
    page.click(".wrong .row button")
    assert volume_mm3(served, page, key) == pytest.approx(6_000.0, abs=WITHIN_MM3)


def test_other_errors_offer_another_try_only(served, ask):
    page, key = ask(flat([[0, 0, 0], [1, 0, 0], [2, 0, 0]], [[0, 1, 2]]), "line.stl", units="mm")
    assert answer(served, key) == ""
    assert page.locator(".wrong .controls button").count() == 1
