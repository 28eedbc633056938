"""Several parts in one box: laid along their own draws, level, fed each by its own gate.

Volumes and distances are closed forms of the bodies; choices to be found are common
practice, no source.
"""

from dataclasses import replace

import manifold3d
import numpy as np
import pull
import pytest
import shapely
import shapes
from bodies import cuboid
from moulds import as_trimesh
from shapes import _arrays

import castplan
from castplan.door import plan_part
from castplan.errors import InputError
from castplan.files.record import plan_json
from castplan.nest.compose import compose
from castplan.nest.room import lay_parts
from castplan.nest.shared import list_nest_findings
from castplan.part.load import part_from_arrays
from castplan.records import Job

PITCH_MM = 0.5
COARSE = {"pitch_mm": PITCH_MM, "n_directions": 40, "n_attitudes": 40}
TWO = {**COARSE, "mould": "two-part"}
JOB = Job(**TWO, wall_mm=12.0)
STEP_MM = 0.1  # sides of boxes that are compared with closed forms


def half_ball(radius_mm=14.0):
    """A half-sphere of flat steps on its flat, and its exact volume: half of the whole one's."""
    ball = shapes.sphere(radius_mm)
    low = ball.vertices_mm[:, 2].min()
    whole = _manifold(ball)
    return _part(whole.trim_by_plane((0, 0, 1), 0.0), "half ball"), abs(low)


def _manifold(body):
    return manifold3d.Manifold(
        manifold3d.Mesh64(
            np.asarray(body.vertices_mm, dtype=np.float64), np.asarray(body.faces, dtype=np.uint64)
        )
    )


def _part(solid, name):
    return part_from_arrays(*_arrays(solid), name=name)


def block(x=30.0, y=20.0, z=16.0, name="block"):
    return _part(cuboid((0, x), (0, y), (0, z)), name)


def cone(name="cone"):
    return shapes.part_of(*shapes.frustum()[:2], name=name)


def turned(part, seed):
    """The same part in a file that is turned anyhow."""
    return part_from_arrays(
        shapes.rotated(part.vertices_mm[: part.check.n_vertices], seed), part.faces, name=part.name
    )


@pytest.fixture(scope="module")
def mixed():
    """A block and its copy, a cone turned in its file, and a hook."""
    one = block()
    parts = (one, one, turned(cone(), 3), shapes.part_of(*shapes.hook()[:2], name="hook"))
    return parts, plan_part(parts[0], JOB, others=parts[1:], solids=("halves",))


# -- how they lie ------------------------------------------------------------------


def test_every_point_of_every_part_is_where_the_record_says(mixed):
    parts, plan = mixed
    start = 0
    for part, placed in zip(parts, plan.nest.parts, strict=True):
        n = part.check.n_vertices
        there = part.vertices_mm[:n] @ placed.rotation.T + placed.offset_mm
        np.testing.assert_allclose(plan.part.vertices_mm[start : start + n], there, atol=1e-9)
        start += n
        # A turn and no mirroring, which brings the draw of its file up.
        np.testing.assert_allclose(placed.rotation @ placed.rotation.T, np.eye(3), atol=1e-12)
        assert np.linalg.det(placed.rotation) == pytest.approx(1.0)
        np.testing.assert_allclose(placed.rotation @ placed.draw, (0, 0, 1), atol=1e-9)


def test_parts_are_numbered_as_they_were_given(mixed):
    told = [(part.number, part.name, part.copy) for part in mixed[1].nest.parts]
    assert told == [(1, "block", 1), (2, "block", 2), (3, "cone", 1), (4, "hook", 1)]
    assert mixed[1].part.name == "2 x block + cone + hook"


def test_the_wall_stands_between_the_meshes(mixed):
    parts, plan = mixed
    start, shadows = 0, []
    for part in parts:
        n = part.check.n_vertices
        flat = plan.part.vertices_mm[start : start + n, :2]
        # Exact: the union of the facets seen along the draw.
        facets = shapely.polygons(flat[part.faces])
        shadows.append(shapely.union_all(facets[shapely.area(facets) > 1e-9]))
        start += n
    for k, shadow in enumerate(shadows):
        for other in shadows[:k]:
            assert shadow.distance(other) >= plan.nest.wall_mm
        # And each outline of the record holds its part.
        assert shapely.Polygon(plan.nest.parts[k].outline_mm).buffer(1e-6).contains(shadow)
    assert plan.nest.gap_mm >= plan.nest.wall_mm == 12.0


def test_the_partings_of_all_are_level(mixed):
    _, plan = mixed
    # The cone releases from its wide end only: its board is the common height.
    low = [
        plan.part.vertices_mm[span, 2].min()
        for span in np.split(np.arange(plan.part.check.n_vertices), _ends(mixed[0]))
    ]
    assert low[2] == pytest.approx(0.0, abs=0.05)
    assert plan.split.line.kind == "level"
    assert plan.split.line.trapped_mm3 == pytest.approx(0.0, abs=1.0)


def _ends(parts):
    return np.cumsum([part.check.n_vertices for part in parts])[:-1]


def test_volumes_add_up_exactly(mixed):
    parts, plan = mixed
    exact_mm3 = 2 * 30 * 20 * 16 + shapes.frustum().volume_mm3 + shapes.hook().volume_mm3
    assert plan.part.check.volume_mm3 == pytest.approx(exact_mm3, rel=1e-9)
    assert 1000 * sum(part.volume_ml for part in plan.nest.parts) == pytest.approx(
        exact_mm3, rel=1e-9
    )
    assert plan.mould.block.part_ml == pytest.approx(exact_mm3 / 1000, rel=1e-9)
    box = plan.mould.block
    assert box.upper_ml + box.lower_ml + box.part_ml == pytest.approx(box.box_ml, rel=1e-9)
    counts = [(part.check.n_triangles, part.check.n_bodies) for part in parts]
    assert plan.part.check.n_triangles == sum(n for n, _ in counts)
    assert plan.part.check.n_bodies == plan.part.check.n_parts == 4


def test_the_halves_as_solids_hold_what_the_plan_says(mixed):
    _, plan = mixed
    upper, lower = (as_trimesh(solid) for solid in plan.solids)
    box = plan.mould.block
    whole_ml = (upper.volume + lower.volume) / 1000 + box.part_ml + box.ports_ml
    # Conservation within 0.1 % of the box; cups reach out of it, keys are in both.
    assert whole_ml == pytest.approx(box.box_ml, rel=1e-3)
    assert upper.is_watertight
    assert lower.is_watertight


def test_the_halves_come_off_every_part(mixed):
    _, plan = mixed
    upper, lower = ((half.vertices_mm, half.faces) for half in plan.solids)
    n = plan.part.check.n_vertices
    own = plan.split.draw.frame.to_frame(plan.part.vertices_mm[:n])
    found = pull.pull_apart((own, plan.part.faces), upper, lower)
    # Rays of another judge; nothing of such bodies closes itself off at their partings.
    assert found.is_watertight == (True, True)
    assert found.n_bodies == (1, 1)
    assert found.trapped_mm3 < 1.0
    assert not any(each.severity == "stop" for each in plan.findings)


def test_rocking_saves_vents_and_no_part_of_its_gate(mixed):
    air = mixed[1].air
    assert set(air.rocking.vents) <= set(air.openings.vents)
    assert not set(air.openings.gates_too) & set(air.openings.vents)


def test_each_part_has_its_own_gate_and_vent(mixed):
    _, plan = mixed
    for part in plan.nest.parts:
        gates = [label for label in part.openings if label.startswith("G")]
        assert len(gates) == 1, part
        assert set(part.openings) - set(gates), part
    assert plan.mould.fill.caught_ml < 0.02
    labels = [label for part in plan.nest.parts for label in part.openings]
    assert sorted(labels) == sorted(port.label for port in plan.mould.block.ports)


def test_gates_are_numbered_as_the_parts(mixed):
    gates = [
        label for part in mixed[1].nest.parts for label in part.openings if label.startswith("G")
    ]
    assert gates == ["G", "G2", "G3", "G4"]


@pytest.mark.long
def test_no_part_stands_over_the_openings_of_another():
    # Four blocks in two rows: on their side the lower row's would go out at the wall.
    one = block(60.0, 40.0, 16.0)
    plan = plan_part(one, JOB, others=[one] * 3)
    rows = {tuple(np.round(part.label_mm[:2], -1)) for part in plan.nest.parts}
    assert len({x for x, _ in rows}) == len({y for _, y in rows}) == 2
    assert {route.exit_face for route in plan.mould.vents.routes} == {"top"}
    assert {route.route for route in plan.mould.vents.routes} <= {"groove", "straight"}


@pytest.mark.long
def test_a_part_too_small_for_a_vent_is_named_and_one_too_small_for_a_gate_stops():
    small = plan_part(block(), JOB, others=[block(4.0, 4.0, 4.0, name="pin")])
    (alone,) = [each for each in small.findings if each.code == "gate-alone"]
    assert str(alone.message).startswith("Gate G2 is the only opening of its part")
    # 15.6 mm3 are less than the air that is worth a vent (0.02 ml).
    speck = plan_part(block(), JOB, others=[block(2.5, 2.5, 2.5, name="pin")])
    (unfed,) = [each for each in speck.findings if each.code == "part-unfed"]
    assert unfed.severity == "stop"
    assert "part 2 (pin)" in str(unfed.message)


# -- closed forms ------------------------------------------------------------------


def test_silicone_of_two_blocks_is_the_box_less_the_blocks():
    one = block()
    job = Job(**TWO, wall_mm=12.0, box_step_mm=STEP_MM)
    plan = plan_part(one, job, others=[one])
    # Side by side along their short sides: 20 + 12 + 20 by 30, 12 mm of silicone all
    # round; the least of all ways to lay two such blocks on their largest face.
    inside = np.subtract(plan.mould.block.high_mm, plan.mould.block.low_mm)
    closed = np.array([20 + 12 + 20 + 24, 30 + 24, 16 + 24])
    # Their outlines are a pitch larger than they are, twice between them, and sides go
    # up to whole steps.
    assert (inside >= closed - 1e-6).all()
    assert (inside <= closed + 2 * PITCH_MM + STEP_MM).all()
    silicone_ml = plan.mould.block.upper_ml + plan.mould.block.lower_ml
    exact_ml = (float(np.prod(inside)) - 2 * 30 * 20 * 16) / 1000
    assert silicone_ml == pytest.approx(exact_ml, rel=1e-9)
    # A box for each: 54 by 44 by 40, twice.
    alone_ml = 2 * (54 * 44 * 40 - 30 * 20 * 16) / 1000
    assert plan.nest.shared.alone_ml == pytest.approx(alone_ml, rel=1e-3)
    assert plan.nest.shared.silicone_ml == pytest.approx(silicone_ml)


def test_half_balls_are_poured_open_where_all_backs_are_free():
    part, radius_mm = half_ball()
    job = Job(**COARSE, wall_mm=12.0, box_step_mm=STEP_MM, mould="auto")
    plan = plan_part(part, job, others=[part])
    assert plan.split.kind == "open"
    inside = np.subtract(plan.mould.block.high_mm, plan.mould.block.low_mm)
    closed = np.array([4 * radius_mm + 12 + 24, 2 * radius_mm + 24, radius_mm + 12])
    assert (np.abs(inside - closed) <= 2 * PITCH_MM + STEP_MM + 0.1).all()
    exact_ml = (float(np.prod(inside)) - 2 * part.check.volume_mm3) / 1000
    assert plan.nest.shared.silicone_ml == pytest.approx(exact_ml, rel=1e-9)
    # Each back is a way in: nothing stays empty.
    assert plan.mould.fill.caught_ml < 0.02
    assert plan.mould.fill.frames[-1].filled_ml == pytest.approx(
        2 * part.check.volume_mm3 / 1000, rel=0.01
    )


@pytest.mark.long
def test_a_part_without_a_back_puts_all_in_two_halves():
    part, _ = half_ball()
    ball = shapes.part_of(*shapes.sphere()[:2], name="ball")
    box = lay_parts((part, ball), Job(**COARSE, mould="auto"))
    assert box.job.mould == "two-part"
    assert box.nest.could_be_open == (1,)
    # The ball parts at its middle, which lies level with the other's flat.
    n = part.check.n_vertices
    ends = [box.part.vertices_mm[:n, 2].min(), box.part.vertices_mm[n:, 2].mean()]
    np.testing.assert_allclose(ends, 0.0, atol=0.3)


# -- against boxes of their own ----------------------------------------------------


@pytest.mark.long
def test_boxes_of_their_own_are_told_as_they_are_planned(mixed):
    parts, plan = mixed
    for part, placed in zip(parts[1:], plan.nest.parts[1:], strict=True):
        own = plan_part(part, JOB)
        block = own.mould.block
        # Columns of two pitches, and a part whose own plan pairs draw and stand anew.
        assert placed.alone_ml == pytest.approx(block.upper_ml + block.lower_ml, rel=0.02)


def test_hours_saved_are_those_of_the_steps_of_a_box(mixed):
    _, plan = mixed
    pours = [step.wait_min for step in plan.bench.schedule.steps if step.kind == "pour"]
    # Three more boxes, each as many nights as this one.
    assert plan.nest.shared.cure_h == pytest.approx(3 * sum(pours) / 60)
    assert 3 < plan.nest.shared.hands_on_h < 3 * plan.bench.schedule.hands_on_min / 60


@pytest.mark.parametrize(
    ("times", "severity", "says"),
    [(0.9, "note", "One box for"), (1.1, "note", "differ in height"), (1.3, "warn", "differ")],
)
def test_a_box_that_takes_more_silicone_says_so(mixed, times, severity, says):
    nest, mould, bench = mixed[1].nest, mixed[1].mould, mixed[1].bench
    shared = replace(nest.shared, silicone_ml=times * nest.shared.alone_ml)
    found = list_nest_findings(replace(nest, shared=shared), mould, bench)
    (told,) = [each for each in found if each.code == "one-box"]
    assert told.severity == severity
    assert says in str(told.message)


# -- choices -----------------------------------------------------------------------


def test_a_side_that_shows_is_taken_where_it_looks_one_way():
    one = block()
    told = lay_parts((one, one), Job(**TWO, draw=(0, 0, 1), show_face=(0, 0, 1)))
    np.testing.assert_allclose(told.job.show_face, (0, 0, 1), atol=1e-9)
    assert told.nest.differs == ()
    # Of two wedges one lies half round beside the other, and shows its side the other way.
    flat = manifold3d.CrossSection([[(0.0, 0.0), (60.0, 0.0), (0.0, 60.0)]])
    wedge = _part(flat.extrude(10.0), "wedge")
    apart = lay_parts((wedge, wedge), Job(**TWO, draw=(0, 0, 1), show_face=(1, 0, 0)))
    turns = [part.turn_deg for part in apart.nest.parts]
    assert abs(turns[0] - turns[1]) == pytest.approx(180.0)
    assert apart.job.show_face is None
    assert apart.nest.differs == ("show",)


def test_the_same_parts_give_the_same_bytes():
    parts = (block(), cone())
    one, other = (plan_json(plan_part(parts[0], JOB, others=parts[1:]).record) for _ in range(2))
    assert one == other


def test_a_plan_of_several_is_read_back(tmp_path, mixed):
    plan = mixed[1]
    again = castplan.read_plan(plan.write(tmp_path / "box"))
    assert [part.name for part in again.nest.parts] == [part.name for part in plan.nest.parts]
    assert again.summary() == plan.summary()
    assert any("One box for 4 parts" in line for line in again.summary())


def test_a_vessel_that_is_too_small_for_the_box_is_told():
    one = block()
    plan = plan_part(one, Job(**TWO, pot_mm=(60.0, 60.0)), others=[one])
    codes = [each.code for each in plan.findings]
    assert "does-not-fit" in codes
    assert "fewer-parts" in codes


# -- what cannot be laid -----------------------------------------------------------


@pytest.mark.parametrize(
    ("n", "choices", "says"),
    [
        (13, {}, "13 parts for one box, need 2 to 12"),
        (2, {"vents_at": ((0.0, 0.0, 16.0),)}, "--vents-at: found places of one part"),
        (2, {"keep_off": ((0.0, 0.0, 16.0, 2.0),)}, "--keep-off: found places of one part"),
        (2, {"parting_height_mm": 3.0}, "--parting-height: found places of one part"),
        (2, {"wall_mm": 280.0}, "need at most 600 mm"),
    ],
)
def test_what_cannot_lie_in_one_box_is_refused_in_one_line(n, choices, says):
    with pytest.raises(InputError, match=says):
        lay_parts((block(),) * n, Job(**COARSE, **choices))


def test_an_open_mould_names_the_part_without_a_back():
    part, _ = half_ball()
    ball = shapes.part_of(*shapes.sphere()[:2], name="ball")
    with pytest.raises(InputError, match=r"^ball: found no side on which the part lies flat"):
        lay_parts((part, ball), Job(**COARSE, mould="open"))


def test_open_scans_keep_their_holes_and_caps():
    vertices, faces = _arrays(cuboid((0, 30), (0, 20), (0, 16)))
    opened = part_from_arrays(vertices, faces[1:], name="scan")
    both = compose((opened, block()), [np.eye(3)] * 2, [(0, 0, 0), (50, 0, 0)], name="two")
    assert both.check.n_holes == 1
    assert not both.check.is_watertight
    # The cap still closes the hole over the same corners.
    own = opened.vertices_mm[opened.cap_faces]
    np.testing.assert_allclose(both.vertices_mm[both.cap_faces], own)
