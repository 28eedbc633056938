"""What a person does on the page, in Debian's chromium: from a dropped file to paper.

Values are invented here.
"""

import base64
import re

import page_cards
import page_server
import pytest
import shapes

# The judge is the browser; sizes are the closed forms of `shapes`.

LEDGE = page_server.stl_of(shapes.box(40.0, 30.0, 20.0))
HOOK = page_server.stl_of(shapes.hook())
choices, planned, saved = page_cards.choices, page_cards.planned, page_cards.saved
DESKTOP = {"width": 1280, "height": 800}


@pytest.fixture(scope="module")
def key(served):
    """A hook that is planned in two halves."""
    key = add(served, HOOK, "coat hook.stl")
    at = served.client.get(f"/api/jobs/{key}").json()["at"]
    served.client.patch(f"/api/jobs/{key}", json={"at": at, "choices": {"mould": "two-part"}})
    while waits(served, key):
        pass
    return key


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


def open_job(page, served, key):
    page.goto(f"{served.url}/#{key}")
    page.wait_for_selector("#card-split")
    page_cards.open_card(page, "split")


@pytest.mark.long
def test_a_visitor_plans_a_sample_with_one_click(page, served):
    page.goto(served.url)
    page.click("button:has-text('posts')")
    page.wait_for_selector("#card-short .decision")
    assert page.title() == "posts: castplan"
    heads = page.locator(".card h2").all_inner_texts()
    words = [
        "In short",
        "part",
        "Mould",
        "Draw direction",
        "Pouring position",
        "Gate",
        "Box",
        "Buy",
        "download",
    ]
    assert all(word in head for word, head in zip(words, heads, strict=True))
    for card in page.locator(".card").all():
        assert card.locator(".decision").text_content().count("\n") == 0
    assert "--" not in page.locator("#column").inner_text()


def test_a_dropped_file_is_asked_for_its_unit_in_words(page, served):
    page.expected = ["422"]  # it cannot be shown before its unit is known
    page.goto(served.url)
    page.wait_for_selector(".drop")
    page.evaluate(
        """data => {
          const bytes = Uint8Array.from(atob(data), (sign) => sign.charCodeAt(0));
          const files = new DataTransfer();
          files.items.add(new File([bytes], 'ledge.stl'));
          document.querySelector('.drop').dispatchEvent(
            new DragEvent('drop', { dataTransfer: files, bubbles: true, cancelable: true }));
        }""",
        base64.b64encode(LEDGE).decode(),
    )
    page.wait_for_selector("text=How large is the part?")
    page.wait_for_selector("button:has-text('inches: 40.0 x 30.0 x 20.0 in, about a table')")
    page.click("button:has-text('millimetres: 40.0 x 30.0 x 20.0 mm, about a matchbox')")
    page.wait_for_selector("#card-split")
    assert "40 x 30 x 20 mm" in page.locator("#card-part .decision").text_content()
    # Straight lines read from the whole file: 40 x 30 x 20 mm are 24 ml.
    assert "Volume 24.0 ml" in page.locator("#card-part .reason").first.text_content()


def test_a_file_that_cannot_be_read_is_told_with_what_to_do(page, served):
    page.expected = ["422"]
    page.goto(served.url)
    page.set_input_files(
        "#file", files=[{"name": "letter.doc", "mimeType": "text/plain", "buffer": b"dear"}]
    )
    page.wait_for_selector("#notice:has-text('need a mesh: stl')")
    page.set_input_files(
        "#file", files=[{"name": "broken.stl", "mimeType": "model/stl", "buffer": b"dear"}]
    )
    page.wait_for_selector("h2:has-text('It cannot be planned yet')")
    assert "broken.stl: found" in page.locator(".wrong .decision").inner_text()
    assert page.locator("#actions button:has-text('Print')").is_disabled()


@pytest.mark.long
def test_progress_is_shown_and_can_be_cancelled(page, served, monkeypatch):
    import threading

    from castplan.page import desk

    go = threading.Event()
    really = desk.build_plan

    def slow(part, job, progress):
        progress("parting", 0.4)
        assert go.wait(60)
        return really(part, job, progress=progress)

    monkeypatch.setattr(desk, "build_plan", slow)
    page.goto(served.url)
    page.set_input_files(
        "#file", files=[{"name": "a.3mf", "mimeType": "model/3mf", "buffer": three_mf()}]
    )
    page.wait_for_selector("#doing:has-text('Placing the parting line') progress")
    page.click("#doing button:has-text('Cancel')")
    page.wait_for_selector("h2:has-text('Planning was cancelled')")
    go.set()
    page.click("button:has-text('Plan it now')")
    page.wait_for_selector("#card-split")


def three_mf():
    """A box in a format that states its unit."""
    import trimesh

    body = shapes.box(40.0, 30.0, 20.0)
    mesh = trimesh.Trimesh(body.vertices_mm, body.faces, process=False)
    mesh.units = "mm"
    return trimesh.Scene([mesh]).export(file_type="3mf")


def test_choose_a_draw_undo_redo_and_reload(page, served, key):
    open_job(page, served, key)
    before = page.locator("#card-split .decision").inner_text()
    page.locator("#card-split .choice").nth(1).click()
    page.wait_for_function(
        "before => document.querySelector('#card-split .decision').textContent !== before",
        arg=before,
    )
    saved(page)
    after = page.locator("#card-split .decision").inner_text()
    assert "draw" in choices(served, key)
    page_cards.whose(page, "split", "your choice")
    page.click("button:has-text('Undo')")
    page.wait_for_function(
        "now => document.querySelector('#card-split .decision').textContent === now", arg=before
    )
    saved(page)
    assert "draw" not in choices(served, key)
    page.click("button:has-text('Redo')")
    page.wait_for_function(
        "now => document.querySelector('#card-split .decision').textContent === now", arg=after
    )
    saved(page)
    page.reload()
    page.wait_for_selector("#card-split")
    assert page.locator("#card-split .decision").inner_text() == after
    page.click("#card-split button:has-text('Let castplan choose again')")
    page.wait_for_function(
        "now => document.querySelector('#card-split .decision').textContent === now", arg=before
    )
    saved(page)
    assert "draw" not in choices(served, key)


@pytest.mark.long
def test_what_was_opened_to_read_stays_open_after_a_change(page, served, key):
    open_job(page, served, key)
    fold = page.locator("#card-split details").first
    assert not fold.evaluate("fold => fold.open")
    fold.locator("summary").click()
    page.locator("#card-split .choice").nth(1).click()
    page_cards.whose(page, "split", "your choice")
    saved(page)
    assert page.locator("#card-split details").first.evaluate("fold => fold.open")
    assert not page.locator("#card-air details").first.evaluate("fold => fold.open")
    page.click("#card-split button:has-text('Let castplan choose again')")
    page_cards.whose(page, "split", "")
    saved(page)
    assert choices(served, key) == {"units": "mm", "mould": "two-part"}


@pytest.mark.long
def test_the_split_slider_tells_what_is_held_while_it_moves(page, served, key):
    open_job(page, served, key)
    told = served.client.get(f"/api/jobs/{key}/cards").json()["cards"]
    told = next(card for card in told if card["id"] == "split")
    slider = page.get_by_label("Height of a flat parting")
    live = page.locator("#card-split p.live")
    at = len(told["heights_mm"]) // 3
    slider.evaluate(
        "(one, at) => { one.value = at;"
        " one.dispatchEvent(new Event('input', { bubbles: true })); }",
        at,
    )
    assert live.inner_text().startswith(f"{told['heights_mm'][at] + told['board_mm']:.1f} mm")
    held = told["trapped_ml"][at]
    assert ("nothing" in live.inner_text()) == (held < 0.005)
    assert "parting_height_mm" not in choices(served, key)  # only looked at so far
    slider.evaluate("one => one.dispatchEvent(new Event('change', { bubbles: true }))")
    page_cards.whose(page, "split", "your choice")
    saved(page)
    assert choices(served, key)["parting_height_mm"] == told["heights_mm"][at]
    page.click("button:has-text('Undo')")
    page_cards.whose(page, "split", "")
    saved(page)


def test_drag_on_the_map_tells_the_air_while_it_moves(page, served, key):
    open_job(page, served, key)
    page_cards.open_card(page, "stand")
    page.click("#card-stand summary:has-text('Another pouring position, on the map')")
    disc = page.locator("#card-stand canvas")
    disc.scroll_into_view_if_needed()
    box = disc.bounding_box()
    live = page.locator("#card-stand p.live")
    seen = set()
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.mouse.down()
    for step in range(1, 9):
        page.mouse.move(box["x"] + box["width"] * (0.5 + 0.05 * step), box["y"] + box["height"] / 2)
        seen.add(live.inner_text())
    assert len(seen) > 1
    assert all(re.fullmatch(r"\S+ ml of air without vents, \d+ vents?", s) for s in seen)
    page.mouse.up()
    page_cards.whose(page, "stand", "your choice")
    saved(page)
    assert "up" in choices(served, key)
    page.click("button:has-text('Undo')")
    page_cards.whose(page, "stand", "")
    saved(page)


@pytest.mark.long
def test_packs_place_and_copies_are_chosen(page, served, key):
    open_job(page, served, key)
    page_cards.open_card(page, "materials")
    card = page.locator("#card-materials")
    card.get_by_label("Castings").fill("7")
    card.get_by_label("Castings").press("Enter")
    page.wait_for_selector("#card-materials .reason:has-text('7 castings')")
    card.locator("summary:has-text('Shop and place')").click()
    card.get_by_label("Where will the part live?").select_option("shade")
    page.wait_for_function("() => document.querySelector('#card-materials details[open] select')")
    saved(page)
    card.locator("summary:has-text('Packs to buy')").click()
    card.get_by_label("Name of the pack").fill("1 kg kit")
    card.get_by_label("Weight (g)").fill("1050")
    card.get_by_label("Price").fill("32.5")
    card.get_by_role("button", name="Add the pack").click()
    page.wait_for_selector("summary:has-text('Packs to buy (1)')")
    saved(page)
    told = choices(served, key)
    assert (told["copies"], told["place"]) == (7, "shade")
    assert told["packs"][0]["mass_g"] == 1050
    page.click("#card-materials button:has-text('Let castplan choose again')")
    page_cards.whose(page, "materials", "")
    saved(page)
    assert choices(served, key) == {"units": "mm", "mould": "two-part"}


@pytest.mark.long
def test_a_change_in_another_window_is_told_and_both_are_kept(page, served, key):
    open_job(page, served, key)
    page.expected = ["409"]
    page_cards.open_card(page, "box")
    # Nobody tells this window before it sends its own.
    page.evaluate("Object.defineProperty(document, 'hidden', { get: () => true })")
    at = served.client.get(f"/api/jobs/{key}").json()["at"]
    served.client.patch(f"/api/jobs/{key}", json={"at": at, "choices": {"copies": 3}})
    page.get_by_label("Shape of the box").select_option("round")
    page.wait_for_selector("#notice:has-text('changed in another window')")
    page_cards.whose(page, "materials", "your choice")
    saved(page)
    told = choices(served, key)
    assert (told["box"], told["copies"]) == ("round", 3)
    for _ in range(2):
        page.click("button:has-text('Undo')")
    page_cards.whose(page, "materials", "")
    saved(page)
    assert "copies" not in choices(served, key)


@pytest.mark.long
def test_print_opens_the_sheets(page, served, key):
    open_job(page, served, key)
    with page.context.expect_event(
        "response", lambda answer: answer.url.endswith("sheets.pdf")
    ) as arrived:
        page.click("button:has-text('Print')")
    assert arrived.value.status == 200
    assert arrived.value.headers["content-type"] == "application/pdf"
    got = page.request.get(f"{served.url}/api/jobs/{key}/files/sheets.pdf")
    assert got.body().startswith(b"%PDF-")


@pytest.mark.long
def test_files_are_downloaded_under_the_jobs_name(page, served, key):
    open_job(page, served, key)
    page_cards.open_card(page, "files")
    page.click("summary:has-text('Files for saw')")
    for says, name in (("Boards (DXF)", "boards.dxf"), ("Upper half (STL)", "upper.stl")):
        with page.expect_download() as arrived:
            page.click(f"a:has-text('{says}')")
        assert arrived.value.suggested_filename == f"coat hook {name}"


@pytest.mark.long
def test_a_name_with_markup_stays_text(page, served):
    name = "<img src=x onerror=alert(1)><script>alert(2)</script> & Söhne.stl"
    made = served.client.post("/api/jobs", params={"name": name, "units": "mm"}, content=LEDGE)
    planned(served, made.json()["key"])
    page.goto(f"{served.url}/#{made.json()['key']}")
    page.wait_for_selector("#card-split")
    assert "onerror=alert(1)" in page.locator("#job-name").inner_text()
    assert page.locator("#column img, #head img").count() == 0
    page.goto(served.url)
    page.wait_for_selector("text=& Söhne")


def test_an_old_address_leads_home(page, served):
    page.expected = ["404"]
    page.goto(f"{served.url}/#gone")
    page.wait_for_selector("#notice:has-text('a key of no job')")
    page.wait_for_selector(".drop")
