"""The page for everyone: rules of access, by keyboard alone, dark, and a phone at the bench."""

import page_cards
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
    "bench": ("#{plan}/bench/4", "#card-step-4"),
    "steps": ("#{plan}/bench/all", ".steps"),
    "casts": ("#{plan}/casts", "form"),
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
        if state == "plan":
            page_cards.open_card(page, "air")
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
    tab_to(page, "Pouring position")
    page.keyboard.press("Enter")
    page.wait_for_selector("#body-stand", state="visible")
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
    page_cards.whose(page, "stand", "your choice")
    # The split's height, by its keys.
    page.locator("#head-split button").focus()
    page.keyboard.press("Enter")
    page.get_by_label("Height of a flat parting").focus()
    page.keyboard.press("ArrowRight")
    page_cards.whose(page, "split", "your choice")
    page.wait_for_function("() => document.querySelector('#doing').textContent === 'Saved'")
    for _ in range(2):
        page.locator("button:has-text('Undo')").focus()
        page.keyboard.press("Enter")
        page.wait_for_function("() => document.querySelector('#doing').textContent === 'Saved'")
    page_cards.whose(page, "stand", "")
    page.locator("button:has-text('Bench')").focus()
    page.keyboard.press("Enter")
    page.wait_for_selector("#card-step-1")
    page.locator("button:has-text('Done, next step')").focus()
    page.keyboard.press("Enter")
    page.wait_for_selector("#card-step-2")
    # The button went with its step; what comes next is the new one.
    page.wait_for_function("() => document.activeElement.id === 'head-step'")
    tab_to(page, "Done, next step", most=20)
    assert page.complaints == []
    page.context.close()


def test_a_phone_at_the_bench(browser, served, keys):
    """One step a screen: signed where it has to be, weighed, timed, and found again."""
    key = keys["other"]
    page = new_page(browser, PHONE)

    def marks():
        return served.client.get(f"/api/jobs/{key}").json()["marks"]

    told = served.client.get(f"/api/jobs/{key}/cards").json()
    hold = next(step for step in told["steps"] if step["is_hold"])["number"]
    weigh = next(step for step in told["steps"] if step["mixes"] and not step["is_pour"])
    pour = next(step for step in told["steps"] if step["is_pour"])["number"]
    shown = next(step for step in told["steps"] if step["pictures"])["number"]

    page.goto(f"{served.url}/#{key}/bench")
    page.wait_for_selector("#card-step-1")
    page.click("button:has-text('Done, next step')")
    page.wait_for_selector("#card-step-2")
    page_server.until(lambda: marks().get("step 1") is True)

    page.goto(f"{served.url}/#{key}/bench/{hold}")
    page.wait_for_selector(f"#card-step-{hold}.hold")
    page.click("button:has-text('Signed, next step')")
    page.wait_for_selector("[role=alert]:has-text('initials')")
    initials = page.locator("input[name=initials]")
    assert initials.evaluate("one => one === document.activeElement")
    assert f"step {hold}" not in marks()  # it lacks the initials
    initials.fill("KB")
    page.click("button:has-text('Signed, next step')")
    page.wait_for_selector(f"#card-step-{hold + 1}")

    page.goto(f"{served.url}/#{key}/bench/{weigh['number']}")
    page.get_by_label("A, as weighed (g)").fill("123.4")
    page.get_by_label("A, as weighed (g)").press("Tab")
    page.goto(f"{served.url}/#{key}/bench/{pour}")
    page.click("button:has-text('Mixed: start the time to pour')")
    page.wait_for_selector("#timers .clock")
    page_server.until(lambda: len(marks()) >= 5)
    assert marks()[f"step {hold} by"] == "KB" and 123.4 in marks().values()

    # The timer stays in sight at other steps, scrolled down, and after a reload.
    page.goto(f"{served.url}/#{key}/bench/{shown}")
    page.reload()
    page.wait_for_selector("#timers .clock")
    page.wait_for_function("() => document.querySelector('.step-picture')?.naturalWidth > 300")
    page.evaluate("window.scrollTo(0, 1e6)")
    box = page.locator("#timers").bounding_box()
    assert 0 <= box["y"] < PHONE["height"] - box["height"]

    # As large as a thumb: 24 CSS pixels at least (WCAG 2.2, 2.5.8).
    for place in page.locator("button:visible, input[type=checkbox]:visible").all():
        box = place.bounding_box()
        assert min(box["width"], box["height"]) >= 24

    page.goto(f"{served.url}/#{key}/bench/all")
    page.wait_for_selector(".steps li.done")
    assert page.locator(".steps li.done").count() == 2
    assert page.locator(".steps li", has_text="signed KB").count() == 1
    page.once("dialog", lambda dialog: dialog.accept())
    page.click("button:has-text('Clear all ticks and timers')")
    page.wait_for_function("() => !document.querySelector('.steps li.done')")
    page_server.until(lambda: marks() == {})
    assert page.complaints == []
    page.context.close()
