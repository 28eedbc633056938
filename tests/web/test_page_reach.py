"""The page for everyone: rules of access, by keyboard alone, dark, and a phone at the bench."""

import page_server
import pytest
import shapes
from axe_playwright_python.sync_playwright import Axe

# The judge is axe-core with its rules for WCAG 2.2, levels A and AA
# (https://www.w3.org/TR/WCAG22/).

RULES = {
    "runOnly": {
        "type": "tag",
        "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"],
    }
}
DESKTOP = {"width": 1280, "height": 800}
PHONE = {"width": 390, "height": 844}


@pytest.fixture(scope="module")
def keys(served):
    """Two jobs that are planned, one that lacks its unit, one that cannot be read."""

    def add(data, name, **units):
        made = served.client.post("/api/jobs", params={"name": name, **units}, content=data)
        key = made.json()["key"]
        at = served.client.get(f"/api/jobs/{key}", params={"wait": 20}).json()["at"]
        if units:  # planned in two halves, which have all cards
            two = {"at": at, "choices": {"mould": "two-part"}}
            served.client.patch(f"/api/jobs/{key}", json=two)
            served.client.get(f"/api/jobs/{key}", params={"wait": 20})
        return key

    hook = page_server.stl_of(shapes.hook())
    box = page_server.stl_of(shapes.box())
    return {
        "plan": add(hook, "coat hook.stl", units="mm"),
        "other": add(box, "ledge.stl", units="mm"),
        "units": add(box, "shelf.stl"),
        "wrong": add(b"no mesh", "broken.stl", units="mm"),
    }


def new_page(browser, size, scheme="light"):
    page = browser.new_context(viewport=size, color_scheme=scheme).new_page()
    page.set_default_timeout(60_000)
    page.complaints = []
    page.on(
        "console",
        lambda said: page.complaints.append(said.text) if said.type == "error" else None,
    )
    page.on("pageerror", lambda error: page.complaints.append(str(error)))
    return page


STATES = {
    "home": ("", ".list"),
    "plan": ("#{plan}", "#card-materials"),
    "bench": ("#{plan}/bench", ".steps"),
    "compare": ("#compare/{plan},{other}", "thead th"),
    "units": ("#{units}", ".wrong .controls button"),
    "wrong": ("#{wrong}", ".wrong .decision"),
}


@pytest.mark.parametrize(
    ("size", "scheme"),
    [
        pytest.param(DESKTOP, "light", id="desktop-light"),
        pytest.param(DESKTOP, "dark", id="desktop-dark", marks=pytest.mark.long),
        pytest.param(PHONE, "light", id="phone-light", marks=pytest.mark.long),
        pytest.param(PHONE, "dark", id="phone-dark", marks=pytest.mark.long),
    ],
)
def test_every_state_keeps_the_rules_of_access(browser, served, keys, size, scheme):
    page = new_page(browser, size, scheme)
    for state, (address, shown) in STATES.items():
        page.goto("about:blank")
        page.goto(f"{served.url}/{address.format(**keys)}")
        page.wait_for_selector(shown)
        page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true; })")
        found = Axe().run(page, options=RULES).response["violations"]
        told = [(one["id"], node["html"][:120]) for one in found for node in one["nodes"]]
        assert told == [], state
        width = page.evaluate("document.documentElement.scrollWidth - innerWidth")
        assert width <= 0, f"{state} is wider than the window"
    assert page.complaints == []
    page.context.close()


def test_a_page_that_breaks_the_rules_is_found(browser):
    page = new_page(browser, DESKTOP)
    page.set_content("<html><body><img src='data:,'><input></body></html>")
    found = {one["id"] for one in Axe().run(page, options=RULES).response["violations"]}
    assert {"image-alt", "label", "html-has-lang"} <= found
    page.context.close()


def focus(page):
    return page.evaluate("(document.activeElement.innerText || document.activeElement.id).trim()")


def tab_to(page, words, *, most=80):
    for _ in range(most):
        page.keyboard.press("Tab")
        if words in focus(page):
            return
    raise AssertionError(f"no way to {words!r} with the Tab key")


@pytest.mark.long
def test_by_keyboard_alone(browser, served, keys):
    page = new_page(browser, DESKTOP)
    page.goto(served.url)
    page.wait_for_selector(".list")
    page.keyboard.press("Tab")
    assert focus(page) == "To the cards"
    for _ in range(80):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.getAttribute('aria-label')") == "Open coat hook":
            break
    page.keyboard.press("Enter")
    page.wait_for_selector("#card-split")
    # The map of stands, by its keys.
    page.locator("#card-stand summary:has-text('Another pouring position, on the map')").focus()
    page.keyboard.press("Enter")
    page.wait_for_selector("#card-stand canvas.disc")
    page.keyboard.press("Tab")
    before = page.locator("#card-stand p.live").inner_text()
    # Far enough on the map the air is another.
    for key in ["ArrowLeft"] * 30 + ["ArrowUp"] * 30 + ["ArrowRight"] * 40:
        page.keyboard.press(key)
        if page.locator("#card-stand p.live").inner_text() != before:
            break
    assert page.locator("#card-stand p.live").inner_text() != before
    page.keyboard.press("Enter")
    page.wait_for_selector("#card-stand .whose:has-text('your choice')")
    # The split's height, by its keys.
    page.get_by_label("Height of a flat parting").focus()
    page.keyboard.press("ArrowRight")
    page.wait_for_selector("#card-split .whose:has-text('your choice')")
    page.wait_for_function("() => document.querySelector('#doing').textContent === 'Saved'")
    for _ in range(2):
        page.locator("button:has-text('Undo')").focus()
        page.keyboard.press("Enter")
        page.wait_for_function("() => document.querySelector('#doing').textContent === 'Saved'")
    page.wait_for_selector('#card-stand .whose:has-text("castplan\'s choice")')
    page.locator("button:has-text('Bench')").focus()
    page.keyboard.press("Enter")
    page.wait_for_selector(".steps")
    page.locator(".step:not(.hold) input[type=checkbox]").first.focus()
    page.keyboard.press("Space")
    page.wait_for_selector(".step.done")
    assert page.complaints == []
    page.context.close()


def test_a_phone_at_the_bench(browser, served, keys):
    page = new_page(browser, PHONE)
    page.goto(f"{served.url}/#{keys['other']}/bench")
    page.wait_for_selector(".steps")
    step = page.locator(".step:not(.hold)").first
    step.locator("input[type=checkbox]").check()
    hold = page.locator(".step.hold").first
    hold.locator("input[type=checkbox]").click()
    assert not hold.locator("input[type=checkbox]").is_checked()  # it lacks the initials
    initials = hold.locator("input[type=text]")
    assert initials.evaluate("one => one === document.activeElement")
    initials.fill("KB")
    initials.press("Tab")
    hold.locator("input[type=checkbox]").check()
    page.locator("button:has-text('Mixed: start the time to pour')").first.click()
    clock = page.locator(".card .clock").first
    page.wait_for_function(
        "() => /\\d:\\d\\d/.test(document.querySelector('.card .clock').textContent)"
    )
    page.get_by_label("A, as weighed (g)").first.fill("123.4")
    page.get_by_label("A, as weighed (g)").first.press("Tab")
    page_server.until(
        lambda: len(served.client.get(f"/api/jobs/{keys['other']}").json()["marks"]) >= 5
    )
    marks = served.client.get(f"/api/jobs/{keys['other']}").json()["marks"]
    assert "KB" in marks.values() and 123.4 in marks.values()
    page.reload()
    page.wait_for_selector(".steps")
    assert page.locator(".step.done").count() == 2
    assert page.locator(".step.hold input[type=text]").first.input_value() == "KB"
    assert page.get_by_label("A, as weighed (g)").first.input_value() == "123.4"
    assert clock.inner_text() != ""  # it ran on
    # As large as a thumb: 24 CSS pixels at least (WCAG 2.2, 2.5.8).
    for place in page.locator("button:visible, input[type=checkbox]:visible").all()[:30]:
        box = place.bounding_box()
        assert min(box["width"], box["height"]) >= 24
    page.once("dialog", lambda dialog: dialog.accept())
    page.click("button:has-text('Clear all ticks and timers')")
    page.wait_for_function("() => !document.querySelector('.step.done')")
    page_server.until(lambda: served.client.get(f"/api/jobs/{keys['other']}").json()["marks"] == {})
    assert page.complaints == []
    page.context.close()
