"""Places that are read off the picture, in the form in which the log of pours takes them."""

import re

import bodies
import numpy as np
import pytest
import shapes
from view_picture import drawn, open_card, picture

from castplan.cli.cast_options import read_defect
from castplan.planning import build_plan
from castplan.records import Job
from castplan.view.page import view_html
from castplan.view.scene import build_scene

pytestmark = pytest.mark.long

# Planes of `bodies.slot_block`, a closed form; places are told to 0.1 mm.
PLANES_MM = ((0.0, 15.0, 40.0), (0.0, 30.0), (0.0, 7.0, 13.0, 20.0))
TOLD_MM = 0.06


@pytest.fixture(scope="module")
def askew(tmp_path_factory):
    """The block drawn neither along an axis of its file nor turned about one."""
    body = bodies.slot_block()
    part = shapes.part_of(body.vertices_mm, body.faces, name="block")
    plan = build_plan(part, Job(mould="two-part", draw=(0.48, 0.6, 0.64), up=(0, 0, 1)))
    path = tmp_path_factory.mktemp("askew") / "block.html"
    path.write_bytes(view_html(plan, build_scene(plan)))
    return path, plan


def test_a_click_on_the_part_tells_the_place_as_the_log_takes_it(askew, open_page):
    path, plan = askew
    page = open_page(path)
    open_card(page, "thick")
    box = page.locator(".castview-canvas").bounding_box()
    rows, columns = np.nonzero(drawn(picture(page)))
    seen = set()
    for share in (0.3, 0.5, 0.7):
        k = int(share * len(rows))
        page.mouse.click(box["x"] + columns[k] + 4, box["y"] + rows[k] + 4)
        told = page.inner_text(".place-told code")
        place = np.array(read_defect(f"void@{told}=3", plan).where_mm)
        off = [
            np.abs(np.array(planes) - x).min() for planes, x in zip(PLANES_MM, place, strict=True)
        ]
        assert min(off) < TOLD_MM, told
        assert (place > -TOLD_MM).all() and (place < np.array([40, 30, 20]) + TOLD_MM).all()
        seen.add(told)
    assert len(seen) == 3
    assert (
        page.eval_on_selector(".place-told code", "one => getComputedStyle(one).userSelect")
        == "all"
    )
    assert page.said == []


def test_a_pocket_from_the_list_tells_its_middle(askew, open_page):
    path, plan = askew
    page = open_page(path)
    open_card(page, "holds")
    page.click("[data-place=pocket-1]")
    told = read_defect(f"soft@{page.inner_text('.place-told code')}", plan).where_mm
    middle_mm = plan.split.draw.frame.to_part(np.array(plan.split.undercuts.pockets[0].centre_mm))
    assert told == pytest.approx(middle_mm, abs=TOLD_MM)
    # A click on it tells the place clicked instead, once.
    page.focus(".castview-canvas")
    page.keyboard.press("Enter")
    assert page.locator(".place-told").count() == 1
    assert re.fullmatch(r"-?\d+\.\d(,-?\d+\.\d){2}", page.inner_text(".place-told code"))


def test_what_is_no_place_on_the_part_tells_none(askew, open_page):
    page = open_page(askew[0])
    open_card(page, "measure")
    page.focus(".castview-canvas")
    page.keyboard.press("Enter")
    assert page.locator(".place-told").count() == 0
