"""Views written once for all tests of them, and pages that keep what they say."""

import bodies
import pytest
import shapes
from view_picture import WIDE

from castplan.planning import build_plan
from castplan.records import Job
from castplan.view.page import view_html
from castplan.view.scene import build_scene


def write(folder, name, body, **choices):
    part = shapes.part_of(body.vertices_mm, body.faces, name=name)
    plan = build_plan(
        part, Job(**{"mould": "two-part", "draw": (0, 0, 1), "up": (0, 0, 1)} | choices)
    )
    scene = build_scene(plan)
    path = folder / f"{name}.html"
    path.write_bytes(view_html(plan, scene))
    return path, plan, scene


@pytest.fixture(scope="session")
def block(tmp_path_factory):
    """A block of 40 x 30 x 20 mm with a slot that holds: page, plan, scene."""
    return write(tmp_path_factory.mktemp("block"), "block", bodies.slot_block())


@pytest.fixture(scope="session")
def posts(tmp_path_factory):
    """Four posts with a gate and one vent: the air of two stays."""
    folder, body = tmp_path_factory.mktemp("posts"), bodies.posts((8.0, 14.0, 11.0, 20.0))
    return write(folder, "posts", body, max_vents=1, feed="top")


@pytest.fixture
def open_page(browser):
    """Open a page by itself; what it says and asks for is kept beside it."""
    contexts = []

    def open_page(path, *, viewport=WIDE, **choices):
        context = browser.new_context(viewport=viewport, reduced_motion="reduce", **choices)
        contexts.append(context)
        page = context.new_page()
        page.said, page.asked_for = [], []
        page.on("console", lambda message: page.said.append(message.text))
        page.on("pageerror", lambda error: page.said.append(str(error)))
        page.on("request", lambda request: page.asked_for.append(request.url))
        page.goto(path.as_uri())
        page.locator("body.is-live").wait_for(state="attached")
        return page

    yield open_page
    for context in contexts:
        context.close()
