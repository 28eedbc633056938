"""The decisions of the page in a browser: one is open at a time."""

from contextlib import contextmanager


@contextmanager
def heard(browser, *, viewport, wait_ms):
    """A page of its own that must not complain; `expected` are complaints that a test causes."""
    context = browser.new_context(viewport=viewport)
    opened = context.new_page()
    opened.set_default_timeout(wait_ms)
    opened.expected, complaints = [], []
    opened.on("console", lambda said: complaints.append(said.text) if said.type == "error" else 0)
    opened.on("pageerror", lambda error: complaints.append(str(error)))
    yield opened
    context.close()
    left = [line for line in complaints if not any(word in line for word in opened.expected)]
    assert left == [], left


def open_card(page, name):
    """Open a decision, unless it is; `name` as in `card-split`."""
    line = page.locator(f"#head-{name} button")
    if line.get_attribute("aria-expanded") != "true":
        line.click()
    page.wait_for_selector(f"#body-{name}", state="visible")


def saved(page):
    """Wait until what was changed is sent, planned and shown."""
    page.wait_for_function("() => document.querySelector('#doing').textContent === 'Saved'")


def choices(served, key):
    """What is chosen of a job, as the server has it."""
    return served.client.get(f"/api/jobs/{key}").json()["choices"]


def planned(served, key):
    """The plan of a job, once it stands."""
    while True:
        told = served.client.get(f"/api/jobs/{key}", params={"wait": 20}).json()["plan"]
        if told["state"] not in ("waiting", "busy"):
            return told


def whose(page, name, words):
    """Wait until a decision is marked so: ``your choice``, or nothing where it is castplan's."""
    page.wait_for_function(
        "([name, words]) => document.querySelector(`#card-${name} .whose`)?.textContent === words",
        arg=[name, words],
    )
