"""The view as a file: packed without loss, one sentence everywhere, nothing let in or out."""

import base64
import hashlib
import itertools
import json
import re
import zlib
from dataclasses import replace

import numpy as np
import pytest
from output.neutral import filled
from output.plan_fixture import make_plan as plan_without_box

from castplan.records import BoxResult, Film, Scene, SurfaceMaps
from castplan.view import data as view_data
from castplan.view import page as view_page
from castplan.view.drawings import drawing
from castplan.view.pack import packed, spelled
from castplan.words import formats
from castplan.words import plan as view
from castplan.words import scene as scene_view

# What the format promises is told in `view_data`; the sentences are those of the sheets.
DTYPES = {"u1": "<u1", "u2": "<u2", "u4": "<u4", "i2": "<i2"}


def make_plan(**choices):
    """The invented plan, in a box whose outline is drawn."""
    plan = plan_without_box(**choices)
    (x0, y0, _), (x1, y1, _) = plan.mould.block.low_mm, plan.mould.block.high_mm
    box = filled(
        BoxResult,
        outline_mm=[(x0, y0), (x1, y0), (x1, y1), (x0, y1)],
        low_mm=plan.mould.block.low_mm,
        high_mm=plan.mould.block.high_mm,
    )
    return replace(plan, split=replace(plan.split, box=box))


def make_scene(*, n=4, halves=()):
    """A fan of facets with invented values."""
    angle = np.linspace(0, 2, n + 1)
    ring = np.stack([40 * np.cos(angle), 40 * np.sin(angle), 0 * angle], axis=1)
    faces = [(0, k + 1, k + 2) for k in range(n)]
    values = np.arange(n, dtype=float)
    surface = SurfaceMaps(
        vertices_mm=np.vstack([[0, 0, 25.0], ring]),
        faces=faces,
        is_thinned=False,
        holder=np.arange(n) % 4,
        is_upper=np.arange(n) % 2 == 0,
        pocket=np.arange(n),
        peak=np.arange(n) % 3,
        draft_deg=np.linspace(-60.0, 90.0, n),
        depth_mm=values,
        thickness_mm=values + 0.5,
        is_caught=np.arange(n) % 2,
        basin=np.arange(n) % 2,
        air_floor_mm=np.where(np.arange(n) % 2, 5.0, 40.0),
        cut_off_mm=values,
        open_fraction=values / n,
    )
    film = Film(
        up=(0, 0, 1),
        low_mm=-3.0,
        level_mm=[0.0, 8.0, 20.0],
        rising_mm=[0.0, 2.0, 20.0],
        basin_mm=[[0.0], [2.0], [8.0]],
        sill_mm=[8.0],
        filled_ml=[0.0, 50.0, 100.0],
        caught_ml=[0.0, 0.0, 0.31],
        cavity_ml=100.31,
    )
    return Scene(surface=surface, film=film, halves=halves, why_no_halves="" if halves else "None.")


def unpack(one):
    return np.frombuffer(one.data, dtype=DTYPES[one.kind])


def page(plan=None, scene=None):
    return view_page.view_html(plan or make_plan(), scene or make_scene()).decode("utf-8")


def stored(text):
    return json.loads(re.search(r'id="plan-data">(.*?)</script>', text, re.S)[1])


def test_points_come_back_within_half_a_step_and_facets_as_they_were():
    scene = make_scene(n=50)
    mesh = view_data.view_data(make_plan(), scene)["meshes"]["part"]
    step = np.array(mesh["step"])
    assert step.max() <= 80 / 65535
    back = np.array(mesh["low"]) + step * unpack(mesh["points"]).reshape(-1, 3)
    assert np.abs(back - scene.surface.vertices_mm).max() <= step.max() / 2 + 1e-12
    assert np.array_equal(unpack(mesh["faces"]).reshape(-1, 3), scene.surface.faces)


def test_values_come_back_to_the_digit_that_is_kept():
    scene = make_scene(n=6)
    data = view_data.view_data(make_plan(), scene)
    maps = {one["key"]: one for one in data["maps"]}
    for key, field in (("draft", "draft_deg"), ("depth", "depth_mm"), ("held", "holder")):
        back = unpack(maps[key]["values"]) * maps[key]["step"]
        assert np.abs(back - getattr(scene.surface, field)).max() <= 0.005 + 1e-9
    assert np.array_equal(unpack(data["facets"]["pocket"]), scene.surface.pocket)
    assert np.array_equal(unpack(data["facets"]["basin"]), scene.surface.basin)
    assert np.abs(unpack(data["facets"]["open"]) / 127 - scene.surface.open_fraction).max() < 0.004
    # By definition of the format (`view_data`): heights of the film in steps of 65534;
    # one more is past all of it.
    floor, low = unpack(data["facets"]["floor"]), scene.surface.air_floor_mm
    assert np.array_equal(floor == 65535, low > 20.0)
    assert np.abs(floor / 65534 * 20.0 - low)[low <= 20.0].max() < 20.0 / 65534


def test_the_page_holds_every_array_deflated():
    data = view_data.view_data(make_plan(), make_scene())
    kept = stored(page())["view"]["facets"]["pocket"]
    wanted = data["facets"]["pocket"]
    assert kept["type"] == wanted.kind
    assert zlib.decompress(base64.b64decode(kept["data"])) == wanted.data


def test_what_is_known_is_not_sent_again():
    one, other = packed([1, 2, 300]), packed([1, 2, 301])
    first = spelled({"a": [one], "b": other}, known=frozenset())
    again = spelled({"a": [one], "b": other}, known=frozenset({first["a"][0]["sum"]}))
    assert again["a"][0] == {"type": "u2", "sum": one.sum}
    assert again["b"] == first["b"] and "data" in again["b"]
    # The same bytes in another type are other numbers: 256 is 0, 1.
    assert packed([256]).sum != packed([0, 1]).sum


@pytest.mark.parametrize(("top", "kind"), [(255, "u1"), (256, "u2"), (65536, "u4"), (-1, "i2")])
def test_numbers_take_the_narrowest_type_that_holds_them(top, kind):
    scene = make_scene()
    surface = replace(scene.surface, pocket=[0, 0, 0, max(top, 0)], draft_deg=[-1.0, 0, 0, 0])
    data = view_data.view_data(make_plan(), replace(scene, surface=surface))
    found = data["facets"]["pocket"]
    if top < 0:
        found = next(one for one in data["maps"] if one["key"] == "draft")["values"]
    assert found.kind == kind


def test_classes_cover_every_value_in_order():
    for one in scene_view.surface_maps(make_plan(), make_scene(n=8)):
        lows = [item.low for item in one.classes]
        assert lows == sorted(lows) and len(set(lows)) == len(lows)
        assert [item.letter for item in one.classes] == list("ABCDE"[: len(lows)])
        # Told apart without colour: of neighbours at most one is plain.
        hatches = [item.hatch for item in one.classes]
        assert all(a != b for a, b in itertools.pairwise(hatches)), one.key
        assert all("mm" not in item.inch for item in one.classes)


@pytest.mark.parametrize(
    ("deepest", "lows"),
    [(0.0, [0.1, 0.2]), (2.9, [1, 2]), (6.0, [2, 4]), (25.0, [10, 20]), (140.0, [50, 100])],
)
def test_depth_is_told_in_round_steps(deepest, lows):
    scene = make_scene()
    surface = replace(scene.surface, depth_mm=[0, 0, 0, deepest])
    maps = scene_view.surface_maps(make_plan(), replace(scene, surface=surface))
    depth = next(one for one in maps if one.key == "depth")
    assert [item.low for item in depth.classes[2:]] == pytest.approx(lows)


def test_the_same_plan_gives_the_same_page():
    assert page() == page()


def test_the_page_says_what_the_sheets_say():
    plan = make_plan()
    text = page(plan)
    words = re.sub(r"<[^>]+>", " ", text).replace("&#x27;", "'").replace("&quot;", '"')
    words = " ".join(words.replace("&gt;", ">").replace("&lt;", "<").replace("&amp;", "&").split())
    for finding in plan.findings:
        assert " ".join(formats.raised(str(finding.message)).split()) in words
        assert " ".join(formats.raised(str(finding.do)).split()) in words
    for sentence in (each.sentence for each in view.decisions(plan)):
        assert formats.raised(sentence.partition(": ")[0]) in words


def test_a_pocket_has_the_words_of_its_finding():
    plan = make_plan()
    pocket = plan.split.undercuts.pockets[0]
    finding = replace(
        plan.findings[0],
        code=pocket.kind,
        message="It holds.",
        do="Slit.",
        where_mm=tuple(plan.split.draw.frame.to_part(np.array(pocket.centre_mm))),
    )
    plan = replace(plan, findings=(finding, *plan.findings))
    place = scene_view.pocket_places(plan)[0]
    assert (place.what, place.do) == (str(finding.message), "Slit.")
    assert place.title.startswith(f"Pocket {pocket.number}: ")


def test_every_pocket_high_point_and_opening_is_listed():
    plan = make_plan()
    keys = {place["key"] for place in stored(page(plan))["places"]}
    assert {f"pocket-{pocket.number}" for pocket in plan.split.undercuts.pockets} <= keys
    assert {f"peak-{peak.number}" for peak in plan.air.openings.peaks} <= keys
    assert {f"port-{port.label}" for port in plan.mould.block.ports} <= keys


def test_the_film_tells_level_volume_and_air():
    texts = scene_view.film_texts(make_scene())
    assert (
        texts[1][0] == "2.0 mm up, spilling over a ledge 8.0 mm up, 50.0 ml in; no air is trapped"
    )
    assert texts[2] == (
        "20.0 mm up, 100.0 ml in; 0.31 ml of air is trapped",
        "25/32 in up, 100.0 ml in; 0.31 ml of air is trapped",
    )


def test_a_name_cannot_break_out_of_the_page():
    evil = "</script><script>alert(1)</script><b onclick=x>&"
    text = page(make_plan(name=evil))
    assert "<script>alert" not in text and "onclick=x>" not in text
    assert text.count("<script") == 2
    scripts = re.findall(r"<script[^>]*>(.*?)</script>", text, re.S)
    assert "<" not in scripts[0]  # the data
    assert stored(text)["view"]["meshes"]


def test_the_policy_lets_its_own_script_and_style_in_and_nothing_else():
    text = page()
    policy = re.search(r'Content-Security-Policy" content="([^"]*)"', text)[1]
    rules = dict(rule.strip().split(" ", 1) for rule in policy.split(";"))
    assert rules["default-src"] == "'none'"
    assert not re.search(r"unsafe|https?:|\*|blob:", policy)
    script = re.search(r'<script type="module">(.*?)</script>', text, re.S)[1]
    style = re.search(r"<style>(.*?)</style>", text, re.S)[1]
    for rule, content in (("script-src", script), ("style-src", style)):
        digest = base64.b64encode(hashlib.sha256(content.encode()).digest()).decode()
        assert rules[rule] == f"'sha256-{digest}'"


def test_nothing_of_the_page_points_outside_it():
    text = page()
    assert not re.findall(r'(?:src|href|action)="', text)
    assert not re.search(r"\b(fetch|XMLHttpRequest|WebSocket|localStorage|import)\s*\(", text)
    assert not re.search(r"url\((?!data:)", text)
    assert not re.search(r'\son[a-z]+="', text)  # handlers in the markup
    assert not re.search(r'\sstyle="', text)  # which the policy would refuse


def names_at_the_top(script):
    return re.findall(r"^(?:const|let|class|function|async function)\s+(\w+)", script, re.M)


def test_no_name_stands_twice_at_the_top_of_the_joined_script():
    script = view_page.page_script()
    names = names_at_the_top(script)
    assert len(names) == len(set(names)) > 20
    assert not re.search(r"^(import|export)\b", script, re.M)
    assert "CastView" in names


def test_scripts_stay_short_enough_to_read():
    for name in view_page.SCRIPTS:
        lines = (view_page.FILES / name).read_text("utf-8").splitlines()
        assert len(lines) <= 400, name


def test_without_halves_the_page_says_why():
    scene = make_scene()
    text = page(scene=replace(scene, why_no_halves="block: found a hole, need none. Repair it."))
    assert "The halves cannot be shown. block: found a hole, need none. Repair it." in text
    assert 'value="upper"' not in text and 'id="open"' not in text


@pytest.mark.parametrize("name", ["draw", "front", "side", "pour"])
def test_drawings_stay_in_their_frame(name):
    text = drawing(make_plan(), name)
    wide, high = map(float, re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', text).groups())
    numbers = re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", text)
    assert len(numbers) > 8
    assert all(0 <= float(x) <= wide and 0 <= float(y) <= high for x, y in numbers)
    assert drawing(replace(make_plan(), sketches=()), name) == ""
