"""The list of jobs: copied, compared, carried, named, found and deleted, in Debian's chromium.

Values are invented here.
"""

import page_cards
import page_server
import pytest
import shapes

# The judge is the browser and what the server has in the end.

HOOK = page_server.stl_of(shapes.hook())
DESKTOP = {"width": 1280, "height": 800}
planned = page_cards.planned


@pytest.fixture(scope="module")
def key(served):
    """A hook that is planned in two halves."""
    key = add(served, HOOK, "coat hook.stl")
    at = served.client.get(f"/api/jobs/{key}").json()["at"]
    served.client.patch(f"/api/jobs/{key}", json={"at": at, "choices": {"mould": "two-part"}})
    while waits(served, key):
        pass
    return key


def unfold(page, name):
    """Open what else can be done with a job of the list."""
    page.locator("#jobs li", has=page.get_by_label(f"Open {name}", exact=True)).locator(
        "summary"
    ).click()


def waits(served, key):
    told = served.client.get(f"/api/jobs/{key}", params={"wait": 20}).json()
    return told["plan"]["state"] in ("waiting", "busy")


def add(served, data, name):
    made = served.client.post("/api/jobs", params={"name": name, "units": "mm"}, content=data)
    key = made.json()["key"]
    while waits(served, key):
        pass
    return key


@pytest.fixture
def page(browser):
    """A page of its own that must not complain; `expected` are complaints that a test causes."""
    with page_cards.heard(browser, viewport=DESKTOP, wait_ms=60_000) as opened:
        yield opened


@pytest.mark.long
def test_duplicate_put_away_bring_back_and_compare(page, served, key):
    page.goto(served.url)
    unfold(page, "coat hook")
    page.click("button[aria-label='Duplicate coat hook']")
    page.wait_for_selector("button[aria-label='Open coat hook (duplicate)']")
    copy = served.client.get("/api/jobs").json()["jobs"][0]["key"]
    planned(served, copy)
    planned(served, key)
    page.get_by_label("First plan").select_option(key)
    page.get_by_label("Second plan").select_option(copy)
    page.click("#card-pair button:has-text('Compare')")
    page.wait_for_selector("h2:has-text('Two plans compared')")
    assert page.locator("thead th").all_inner_texts() == ["coat hook", "coat hook (duplicate)"]
    # The same plan twice differs in nothing.
    assert page.locator(".words li").all_inner_texts() == [
        "coat hook and coat hook (duplicate) come to the same."
    ]
    page.click("button:has-text('Back to your jobs')")
    unfold(page, "coat hook (duplicate)")
    page.click("button[aria-label='Archive coat hook (duplicate)']")
    page.wait_for_selector("summary:has-text('Archived: 1')")
    assert not page.locator("button[aria-label='Open coat hook (duplicate)']").is_visible()
    page.click("summary:has-text('Archived: 1')")
    page.click("button[aria-label='Restore coat hook (duplicate)']")
    page.wait_for_selector("#jobs button[aria-label='Open coat hook (duplicate)']")


@pytest.mark.long
def test_export_and_import(page, served, key, tmp_path):
    page.goto(served.url)
    unfold(page, "coat hook")
    with page.expect_download() as arrived:
        page.click("a[aria-label='Download coat hook']")
    assert arrived.value.suggested_filename == "coat hook.castplan.zip"
    path = tmp_path / arrived.value.suggested_filename
    arrived.value.save_as(path)
    page.set_input_files("#file", path)
    page.wait_for_selector("#card-split")
    assert page.url.split("#")[1] != key
    assert page.locator("#job-name").inner_text() == "coat hook"


def test_jobs_are_renamed_found_deleted_and_brought_back(page, served, key):
    page.expected = ["422"]
    page.goto(served.url)
    page.set_input_files(
        "#file", files=[{"name": "broken.stl", "mimeType": "model/stl", "buffer": b"dear"}]
    )
    page.wait_for_selector("h2:has-text('It cannot be planned yet')")
    page.click("#home")
    broken = page.locator("#jobs li", has=page.get_by_label("Open broken", exact=True))
    assert "cannot be planned yet" in broken.inner_text()
    broken.locator("summary").click()
    page.once("dialog", lambda dialog: dialog.accept("torn scan"))
    broken.get_by_label("Rename broken").click()
    torn = page.locator("#jobs li", has=page.get_by_label("Open torn scan", exact=True))
    torn.get_by_label("Delete torn scan").click()
    page.wait_for_selector("#notice:has-text('torn scan is deleted.')")
    page.wait_for_function("() => !document.querySelector('#jobs').textContent.includes('torn')")
    page.click("#notice button:has-text('Undo')")
    torn.wait_for()
    # What was planned says so, with its picture.
    planned = page.locator(f"#jobs li[data-key='{key}']")
    assert "g of silicone" in planned.inner_text()
    assert planned.locator("img").evaluate("one => one.naturalWidth") > 100
    while page.locator("#jobs li").count() < 5:
        served.client.post(f"/api/jobs/{key}/copy", json={"name": "spare"})
        page.reload()
        page.wait_for_selector("#jobs li")
    page.get_by_label("Find a job by its name").fill("TORN")
    page.wait_for_function("() => document.querySelectorAll('#jobs li').length === 1")
