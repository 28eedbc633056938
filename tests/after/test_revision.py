"""A revised plan keeps its mould, tells vents from outside, and proves that they catch the air.

Sizes are the sample's own, worked by hand: closed forms of its card.
"""

import json
from dataclasses import fields, replace
from importlib import resources

import bodies
import jsonschema
import manifold3d
import numpy as np
import pytest
import shapes
from after.voxels import Voxels
from agreement import contradictions, tell
from output.greek import greek_catalogue

from castplan import texts
from castplan.after.cavity import cavity_of
from castplan.after.places import face_of
from castplan.after.remedy import best_tilt, rock
from castplan.after.revise import revise
from castplan.errors import InputError
from castplan.files import record
from castplan.files.cast_file import add_line, read_log
from castplan.files.plan_folder import read_plan
from castplan.files.write import write_plan
from castplan.paper.sheet_revision import revision_pages
from castplan.planning import build_plan
from castplan.records import Air, Bench, CastLog, Defect, Job, LoggedPour, Mould, Split
from castplan.words import revision as revision_view

BOX_MM = 12.0  # of rubber over the highest point, the job's default


def plan_of(body, **job):
    """A coarse plan of a body drawn and poured along z, with as few vents as it can have."""
    vertices, faces = (body.vertices_mm, body.faces) if isinstance(body, shapes.Body) else body
    part = shapes.part_of(vertices, faces)
    values = {
        "draw": (0.0, 0.0, 1.0),
        "up": (0.0, 0.0, 1.0),
        "pitch_mm": 0.6,
        "n_directions": 8,
        "n_attitudes": 8,
        "max_vents": 0,
    }
    return build_plan(part, Job(**{"mould": "two-part", **values, **job}))


def log_of(*defects):
    return CastLog(lines=(LoggedPour(number=1, date="2026-12-01", defects=defects),))


@pytest.fixture(scope="module")
def posts():
    """Four posts of 8, 14, 11 and 20 mm on a base of 5 mm, in a row along x."""
    return plan_of(bodies.posts())


def open_places(plan):
    return plan.air.openings.frame.to_part(
        np.array([port.place_mm for port in plan.mould.block.ports])
    )


def test_a_post_without_a_vent_gets_one_that_catches_its_air(posts):
    # The lowest post, 6 x 6 x 8 mm, stands in the middle of x 0..15, y 0..15.
    where = (7.5, 7.5, 12.0)
    revised = revise(posts, log_of(Defect(kind="void", where_mm=where)))
    (drilling,) = revised.revision.drillings
    assert (drilling.face, drilling.half) == ("top", "upper")
    assert np.array(drilling.place_mm) == pytest.approx((7.5, 7.5, 13.0), abs=0.6)  # the pitch
    # Highest post 25 mm, rubber over it: the way up from 13 mm is 24 mm.
    assert drilling.length_mm == pytest.approx(25 - 13 + BOX_MM, abs=1e-3)
    assert (drilling.across_deg, drilling.up_deg) == pytest.approx((0, 0), abs=0.01)
    assert drilling.caught_before_ml == pytest.approx(6 * 6 * 8 / 1000, rel=0.06)  # its edge
    assert drilling.caught_after_ml == 0.0
    # Three posts kept their air; of the voxels' judge one third and a bit goes.
    voxels = Voxels(posts)
    before, after = (voxels.stays_ml(open_places(plan)) for plan in (posts, revised))
    assert before - after == pytest.approx(6 * 6 * 8 / 1000, rel=0.15)  # cells of 0.6 mm
    told = revised.revision
    assert told.caught_before_ml - told.caught_after_ml == pytest.approx(0.288, rel=0.06)


@pytest.mark.parametrize("job", [{}, {"bed": "printed"}, {"max_vents": 1, "copies": 3}])
def test_the_outputs_of_a_revised_plan_agree(job):
    plan = plan_of(bodies.posts(), **job)
    revised = revise(plan, log_of(Defect(kind="void", where_mm=(7.5, 7.5, 12.0))))
    label = revised.revision.drillings[0].label
    (drill,) = (step for step in revised.bench.schedule.steps if step.kind == "drill")
    assert f"Make vent {label} in the mould that is there" in str(drill.text)
    assert contradictions(tell(revised)) == []
    # The steps as they were know nothing of the vent: that is found out.
    old = replace(revised, bench=plan.bench)
    assert any(line.startswith("what is open") for line in contradictions(tell(old)))


def parts_of(plan):
    """The records of a plan by name, those of a room one by one."""
    found = {}
    for entry in fields(plan):
        value = getattr(plan, entry.name)
        is_room = isinstance(value, (Split, Air, Mould, Bench))
        found |= vars(value) if is_room else {entry.name: value}
    return found


def test_the_mould_stays_and_the_two_versions_differ_visibly(posts):
    revised = revise(posts, log_of(Defect(kind="void", where_mm=(7.5, 7.5, 12.0))))
    before, after = parts_of(posts), parts_of(revised)
    changed = {name for name in before if record.plain(before[name]) != record.plain(after[name])}
    steps = {"schedule", "timeline", "buy"}
    assert changed == {"openings", "block", "vents", "fill", "findings", "revision"} | steps
    for name in ("low_mm", "high_mm", "lower_ml", "upper_ml", "part_ml"):
        assert getattr(revised.mould.block, name) == getattr(posts.mould.block, name)
    assert revised.mould.block.ports[: len(posts.mould.block.ports)] == posts.mould.block.ports
    assert revised.mould.fill.caught_ml < posts.mould.fill.caught_ml
    assert revised.air.openings.left_mm3 == pytest.approx(
        posts.air.openings.left_mm3 - 288, rel=0.03
    )
    codes = [finding.code for finding in revised.findings]
    assert "air-left" in [finding.code for finding in posts.findings] and "air-left" not in codes
    assert revision_pages(posts) == [] and revision_pages(revised)
    assert "Version 2" in revision_view.revision_lines(revised)[0]


def led_to(plan, drilling):
    """Where the told corner, angles and length lead, part frame."""
    face = face_of(plan, drilling.face)
    across, up = drilling.from_corner_mm
    lean = face.inward + np.tan(np.radians(drilling.across_deg)) * face.across
    lean += np.tan(np.radians(drilling.up_deg)) * face.up
    way = drilling.length_mm * lean / np.linalg.norm(lean)
    return plan.air.openings.frame.to_part(face.point_mm(across_mm=across, up_mm=up) + way)


def test_a_slanted_vent_is_told_so_that_it_meets_its_peak():
    # A post under a shelf: straight up the part is in the way.
    body = (
        bodies.cuboid((0, 40), (0, 20), (0, 5))
        + bodies.cuboid((0, 10), (0, 20), (0, 44))
        + bodies.cuboid((8, 23), (0, 20), (36, 40))
        + bodies.cuboid((18, 23), (4, 9), (4, 14))
    )
    plan = plan_of(bodies.arrays(body))
    revised = revise(plan, log_of(Defect(kind="void", where_mm=(20.5, 6.5, 13.5))))
    (drilling,) = revised.revision.drillings
    assert max(abs(drilling.across_deg), abs(drilling.up_deg)) > 10
    assert led_to(plan, drilling) == pytest.approx(drilling.place_mm, abs=0.01)
    assert drilling.place_mm[2] == pytest.approx(14.0)
    (told,) = revision_view.drill_sentences(revised)
    assert "leaning" in told and "square in" not in told
    # The bore stays clear of the part all the way out.
    solid = bodies.solid_of(*bodies.arrays(body))
    start = np.array(drilling.place_mm)
    end = plan.split.draw.frame.to_part(np.array(revised.mould.vents.routes[-1].exit_mm))
    for t in np.linspace(0.1, 1.0, 40):
        probe = manifold3d.Manifold.sphere(0.5 * drilling.bore_mm, 12).translate(
            tuple(start + t * (end - start))
        )
        assert (probe ^ solid).volume() < 1e-9 or t * drilling.length_mm < 4


def test_a_vent_that_is_added_keeps_off_the_pouring_cup():
    """From middle to middle half the cup, half the vent and 2 mm (common practice, no source)."""
    # The gate on a tower of 30 mm, the void on one of 25 mm 7 mm beside it.
    body = bodies.cuboid((0, 70), (0, 30), (0, 8))
    for middle, high in ((26, 30), (33, 25)):
        body += bodies.cuboid((middle - 3, middle + 3), (12, 18), (0, high))
    plan = plan_of(bodies.arrays(body))
    revised = revise(plan, log_of(Defect(kind="void", where_mm=(33.0, 15.0, 24.5))))
    gate, *_, vent = (np.array(route.exit_mm) for route in revised.mould.vents.routes)
    least_mm = 0.5 * (plan.mould.gate.cup_mm + plan.job.vent_mm) + 2.0
    assert np.linalg.norm(gate - vent) >= least_mm - 1e-6  # exits are floats, some 10 mm off
    assert "vent-under-cup" not in {finding.code for finding in revised.findings}
    assert contradictions(tell(revised)) == []


def test_what_is_told_from_outside_leads_to_the_cavity(hook):
    without = replace(
        hook,
        air=replace(hook.air, openings=replace(hook.air.openings, vents=())),
        mould=replace(
            hook.mould,
            block=replace(hook.mould.block, ports=hook.mould.block.ports[:1]),
            vents=replace(hook.mould.vents, routes=hook.mould.vents.routes[:1]),
        ),
    )
    pocket = cavity_of(without).planned[0]
    revised = revise(without, log_of(Defect(kind="void", where_mm=pocket.top_mm)))
    for drilling in revised.revision.drillings:
        assert led_to(hook, drilling) == pytest.approx(drilling.place_mm, abs=0.01)
    assert revised.revision.drillings


def test_an_opening_that_was_shut_is_opened_up(hook):
    label = hook.mould.block.ports[1].label
    pocket = cavity_of(hook).without(label)[0]
    revised = revise(hook, log_of(Defect(kind="void", where_mm=pocket.top_mm)))
    old, new = hook.mould.block.ports[1], revised.mould.block.ports[1]
    assert new.diameter_mm == old.diameter_mm + 1.0 and not revised.revision.drillings
    assert revised.revision.caught_before_ml == pytest.approx(pocket.volume_mm3 / 1000)
    assert revised.revision.caught_after_ml < 0.01


def test_a_log_without_such_defects_is_refused(posts):
    for log in (CastLog(), log_of(Defect(kind="warp"))):
        with pytest.raises(InputError, match="no defect that a change to this mould would mend"):
            revise(posts, log)


def test_versions_count_and_a_revised_plan_comes_back(posts, tmp_path):
    write_plan(posts, tmp_path / "one", replace=False)
    for where in ((7.5, 7.5, 12.0), (37.5, 7.5, 15.0)):
        defect = Defect(kind="void", where_mm=where)
        add_line(tmp_path / "one", LoggedPour, date="2026-12-01", defects=(defect,))
    second = revise(read_plan(tmp_path / "one"), read_log(tmp_path / "one"))
    assert len(second.revision.drillings) == 2
    write_plan(second, tmp_path / "two", replace=False, log_from=tmp_path / "one")
    again = read_plan(tmp_path / "two")
    assert record.plan_json(again) == record.plan_json(read_plan(tmp_path / "two"))
    assert len(read_log(tmp_path / "two").lines) == 2
    schema = json.loads(
        resources.files("castplan.files").joinpath("plan.schema.json").read_text("utf-8")
    )
    jsonschema.Draft202012Validator(schema).validate(json.loads(record.plan_json(second)))
    # What was mended by the second version, the third does not drill again: the
    # voids of the log now speak for openings that were shut.
    third = revise(again, read_log(tmp_path / "two"))
    assert third.revision.number == 3 and not third.revision.drillings


def test_a_revision_is_the_same_in_every_language(posts, tmp_path):
    wanted = log_of(
        Defect(kind="void", where_mm=(7.5, 7.5, 12.0)), Defect(kind="flash", told="the rim")
    )
    english = revise(posts, wanted)
    write_plan(english, tmp_path / "english", replace=False)
    lines = revision_view.revision_lines(english)
    texts.use(greek_catalogue())
    try:
        greek = revise(posts, wanted)
        said = revision_view.revision_lines(greek)
        assert revision_view.revision_lines(read_plan(tmp_path / "english")) == said != lines
    finally:
        texts.use({})
    assert english.revision.patches and english.revision.uses
    assert record.plan_json(english) == record.plan_json(greek)


def bumps(rise_mm=3.0):
    """A bar with a bump at one end and a higher one at the other; 20 mm wide."""
    return bodies.arrays(
        bodies.cuboid((0, 60), (0, 20), (0, 10))
        + bodies.cuboid((0, 20), (0, 20), (5, 10 + rise_mm))
        + bodies.cuboid((50, 60), (0, 20), (5, 18))
    )


def _over_ports_mm(plan, slope):
    """How far a corner of the high bump's roof comes to stand over its gate and its vent."""
    corners = np.array([(x, y) for x in (50.0, 60.0) for y in (0.0, 20.0)])
    ports = np.array([port.place_mm[:2] for port in plan.mould.block.ports])
    return float((corners @ slope).max() - (ports @ slope).max())


def test_a_tilt_leaves_the_corner_under_the_step():
    # Raised at a corner of the gate's end, the roof of the low bump rises by a a
    # mm along and b a mm across; air stays above the foot of its step of 3 mm: a
    # pyramid with legs 3, 3/a and 3/b; another above the vent of the high bump, which
    # stands off its corner. Of the tilts tried 30 degrees toward 30 or 60 leaves the least.
    plan = plan_of(bumps())
    tilt = best_tilt(plan)
    assert tilt.tilt_deg == 30.0 and tilt.toward_deg in (30.0, 60.0, 300.0, 330.0)
    assert tilt.caught_before_ml == pytest.approx(20 * 20 * 3 / 1000, rel=0.02)  # its edge
    slope = np.tan(np.radians(30)) * np.array(
        [np.cos(np.radians(tilt.toward_deg)), np.sin(np.radians(tilt.toward_deg))]
    )
    rise_mm = np.array([3.0, _over_ports_mm(plan, slope)])
    corner_ml = (rise_mm**3 / abs(slope.prod()) / 6 / 1000).sum()
    assert tilt.caught_after_ml == pytest.approx(corner_ml, rel=0.1)  # columns of 0.3 mm
    assert tilt.straw_mm == 0.0  # gate and vent stay above all of the cavity


def test_rocking_walks_the_air_of_a_bump_out_where_a_ramp_lets_it():
    # Without a step under the bump's rim there is nothing to hold the bubble:
    # a ramp from the bump down to the bar and up to the gate's end.
    profile = [(0, 0), (60, 0), (60, 18), (50, 18), (40, 10), (25, 10), (0, 12)]
    body = shapes.extruded(profile, 20.0, {"z": 0.0})
    plan = plan_of(body)
    cavity = cavity_of(plan)
    assert cavity.caught_mm3(cavity.openings) > 100
    tilts, left_ml = rock(plan)
    assert tilts and left_ml < 0.02
