"""What the user does on the page is never lost, and nothing is done twice: in Debian's chromium.

Values are invented here: what was typed and clicked is what the server must have in the end.
"""

import base64
import re

import httpx
import page_cards
import page_server
import pytest
import shapes

LEDGE = page_server.stl_of(shapes.box(40.0, 30.0, 20.0))
DESKTOP = {"width": 1280, "height": 800}
choices, saved = page_cards.choices, page_cards.saved


@pytest.fixture(scope="module")
def key(served):
    """A box, planned in two halves."""
    return planned_box(served.client)


def planned_box(client):
    made = client.post("/api/jobs", params={"name": "ledge.stl", "units": "mm"}, content=LEDGE)
    key = made.json()["key"]
    told = {"at": 1, "choices": {"mould": "two-part"}}
    client.patch(f"/api/jobs/{key}", json=told)
    while client.get(f"/api/jobs/{key}", params={"wait": 20}).json()["plan"]["state"] != "done":
        pass
    return key


@pytest.fixture
def page(browser):
    """A page of its own, without pictures in the round; `expected` complaints are the test's."""
    with page_cards.heard(browser, viewport=DESKTOP, wait_ms=30_000) as opened:
        yield opened


def open_job(page, served, key):
    page.goto(f"{served.url}/#{key}")
    page.wait_for_selector("#card-materials")
    saved(page)


def undo_all(served, key):
    told = served.client.get(f"/api/jobs/{key}").json()
    none = {name: None for name in told["choices"] if name not in ("units", "mould")}
    if none:
        served.client.patch(f"/api/jobs/{key}", json={"at": told["at"], "choices": none})


def test_what_is_typed_quickly_ends_at_what_was_typed_last(page, served, key):
    open_job(page, served, key)
    page_cards.open_card(page, "materials")
    page.evaluate(
        """() => {
          const one = [...document.querySelectorAll('#card-materials label')]
            .find((label) => label.textContent.startsWith('Castings')).querySelector('input');
          for (const value of [20, 21, 22, 23]) {
            one.value = value;
            one.dispatchEvent(new Event('change', { bubbles: true }));
          }
        }"""
    )
    page.wait_for_selector("#card-materials .reason:has-text('23 castings')")
    saved(page)
    assert choices(served, key)["copies"] == 23
    assert page.locator("#notice").is_hidden()
    assert page.get_by_label("Castings", exact=True).input_value() == "23"
    undo_all(served, key)


def test_undo_clicked_twice_undoes_two_changes(page, served, key):
    open_job(page, served, key)
    page_cards.open_card(page, "materials")
    for copies in (3, 7):
        page.get_by_label("Castings", exact=True).fill(str(copies))
        page.get_by_label("Castings", exact=True).press("Tab")
        page.wait_for_selector(f"#card-materials .reason:has-text('{copies} castings')")
    saved(page)
    page.locator("button:has-text('Undo')").dblclick()
    page_cards.whose(page, "materials", "")
    saved(page)
    assert "copies" not in choices(served, key)
    assert page.locator("#notice").is_hidden()


def test_a_card_is_patched_under_what_is_being_typed(page, served, key):
    """A plan that arrives leaves text, focus, cursor and folds as the user has them."""
    open_job(page, served, key)
    page_cards.open_card(page, "materials")
    page.locator("#card-materials summary:has-text('Packs to buy')").click()
    name = page.get_by_label("Name of the pack")
    name.fill("one kilo kit")
    name.evaluate("one => { one.mark = 'the same'; one.setSelectionRange(4, 8); }")
    told = served.client.get(f"/api/jobs/{key}").json()
    served.client.patch(f"/api/jobs/{key}", json={"at": told["at"], "choices": {"copies": 5}})
    page.wait_for_selector("#card-materials .reason:has-text('5 castings')")
    saved(page)
    kept = name.evaluate(
        "one => [one.value, one.mark, one === document.activeElement, one.selectionStart]"
    )
    assert kept == ["one kilo kit", "the same", True, 4]
    assert page.locator("#card-materials details[data-key=packs]").evaluate("one => one.open")
    undo_all(served, key)


def test_two_windows_follow_each_other(page, served, key):
    other = page.context.new_page()
    open_job(page, served, key)
    open_job(other, served, key)
    page_cards.open_card(page, "materials")
    page.get_by_label("Castings", exact=True).fill("9")
    page.get_by_label("Castings", exact=True).press("Tab")
    other.wait_for_selector("#card-materials .whose:has-text('your choice')", state="attached")
    saved(other)
    assert "9 castings" in other.locator("#card-materials .reason").first.text_content()
    undo_all(served, key)


def test_another_draw_leaves_the_others_listed(page, served, key):
    open_job(page, served, key)
    page_cards.open_card(page, "split")
    ways = page.locator("#card-split input[name=way]")
    listed = page.locator("#card-split .choice").all_inner_texts()
    assert len(listed) > 1
    ways.nth(1).click()
    page_cards.whose(page, "split", "your choice")
    saved(page)
    assert page.locator("#card-split .choice").all_inner_texts() == listed
    assert ways.nth(1).is_checked()
    page.click("button:has-text('Undo')")
    page_cards.whose(page, "split", "")
    saved(page)
    assert ways.nth(0).is_checked()


def test_another_pouring_position_leaves_the_others_listed(page, served, key):
    open_job(page, served, key)
    page_cards.open_card(page, "stand")
    listed = page.locator("#card-stand .choice").all_inner_texts()
    assert len(listed) > 1
    page.locator("#card-stand input[name=stand]").nth(1).click()
    page_cards.whose(page, "stand", "your choice")
    saved(page)
    assert page.locator("#card-stand .choice").all_inner_texts() == listed
    undo_all(served, key)


def test_a_wrong_length_is_told_at_its_field_and_costs_no_plan(page, served, key):
    page.expected = ["422"]
    open_job(page, served, key)
    page_cards.open_card(page, "part")
    before = page.locator("#card-part .decision").inner_text()
    field = page.locator("input[name=measured]")
    field.fill("longest=73mm")
    page.click("#card-part button:has-text('Check')")
    page.wait_for_selector("#card-part .error:has-text('73')")
    assert field.get_attribute("aria-describedby") == "error-measured"
    assert field.input_value() == "longest=73mm"
    assert page.locator("#card-part .decision").inner_text() == before
    assert page.locator("#actions button:has-text('Print')").is_enabled()
    assert "measured" not in choices(served, key)
    field.fill("longest=40mm")
    page.click("#card-part button:has-text('Check')")
    page.wait_for_function("() => !document.querySelector('#card-part .error')")
    saved(page)
    undo_all(served, key)


def test_after_a_restart_what_was_changed_meanwhile_is_sent(page, tmp_path):
    page.expected = ["ERR_CONNECTION", "403", "500"]  # while it goes down and comes up
    folder = tmp_path / "jobs"
    headers = {"x-castplan-token": page_server.TOKEN}
    with (
        page_server.serving(folder) as served,
        httpx.Client(base_url=served.url, headers=headers, timeout=60) as client,
    ):
        key = planned_box(client)
        open_job(page, served, key)
        page_cards.open_card(page, "materials")
    port = int(served.url.rpartition(":")[2])
    page.get_by_label("Castings", exact=True).fill("4")
    page.get_by_label("Castings", exact=True).press("Tab")
    page.wait_for_selector("#doing:has-text('1 change waits to be sent')")
    page.goto(f"{served.url}/#{key}/bench/1")
    page.click("button:has-text('Done, next step')")
    page.wait_for_selector("#doing:has-text('2 changes wait to be sent')")
    with page_server.serving(folder, port=port, token="the token of another run") as again:
        saved(page)
        job = again.store.get(key)
        assert job.choices["copies"] == 4
        assert job.marks["step 1"] is True


def test_a_size_that_nobody_believes_is_asked_for_twice(page, served):
    """A 40 mm part read as metres is 40 m long: it is not planned at a click."""
    page.expected = ["422"]  # it cannot be shown before its unit is known
    page.goto(served.url)
    page.set_input_files(
        "#file", files=[{"name": "huge.stl", "mimeType": "model/stl", "buffer": LEDGE}]
    )
    page.locator("button", has_text=re.compile("^metres: 40.0")).click()
    page.wait_for_selector("h2:has-text('It cannot be planned yet')")
    page.wait_for_selector("button:has-text('Yes, it is 40.0')")
    key = page.url.rpartition("#")[2]
    told = served.client.get(f"/api/jobs/{key}").json()
    assert told["plan"]["state"] == "wrong" and "is_size_meant" not in told["choices"]
    page.click("button:has-text('millimetres: 40.0')")
    page.wait_for_selector("#card-materials")


@pytest.mark.parametrize("side", ["casts", "bench", "bench/all"])
def test_each_side_of_a_job_can_be_opened_directly(page, served, key, side):
    page.goto(f"{served.url}/#{key}/{side}")
    page.wait_for_selector({"casts": "form", "bench": "#card-step-1"}.get(side, ".steps"))
    page.wait_for_timeout(500)  # what goes wrong later is a complaint


def n_jobs(served):
    return len(served.client.get("/api/jobs").json()["jobs"])


def test_nothing_is_made_twice_by_a_double_click(page, served, key):
    page.goto(served.url)
    before = n_jobs(served)
    page.locator(f"#jobs li[data-key='{key}'] summary").click()
    page.locator(f"#jobs li[data-key='{key}'] button:has-text('Duplicate')").dblclick()
    page.wait_for_selector("#jobs button[aria-label='Open ledge (duplicate)']")
    page.locator("button.tile", has_text="posts").dblclick()
    page.wait_for_function("() => location.hash.length > 5")
    page.wait_for_timeout(500)  # the second would come now
    assert n_jobs(served) == before + 2
    page.goto(f"{served.url}/#{key}/casts")
    page.fill("input[name=date]", "2026-12-01")
    page.locator("button:has-text('Log this pour')").dblclick()
    page.wait_for_selector("button:has-text('Take back')")
    page.wait_for_timeout(500)
    assert len(served.client.get(f"/api/jobs/{key}/pours").json()["lines"]) == 1


def test_every_dropped_file_is_taken_in(page, served):
    page.expected = ["422"]  # it cannot be shown before its unit is known
    page.goto(served.url)
    page.wait_for_selector(".drop")
    before = n_jobs(served)
    page.evaluate(
        """data => {
          const bytes = Uint8Array.from(atob(data), (sign) => sign.charCodeAt(0));
          const files = new DataTransfer();
          for (const name of ['one.stl', 'two.stl']) files.items.add(new File([bytes], name));
          document.querySelector('.drop').dispatchEvent(
            new DragEvent('drop', { dataTransfer: files, bubbles: true, cancelable: true }));
        }""",
        base64.b64encode(LEDGE).decode(),
    )
    page.wait_for_selector("#notice:has-text('2 parts were taken in')")
    assert n_jobs(served) == before + 2
    page.wait_for_selector("#job-name:has-text('one')")
