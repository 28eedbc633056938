"""The gate as a decision: from the top or from below, how wide, and that it is really there.

Places are of the bodies made here, worked by hand; 12 mm is the default wall.
"""

from dataclasses import replace

import bodies
import moulds
import numpy as np
import pytest
import shapes
from output.neutral import filled
from pouring import Setup

from castplan import records
from castplan.air.feed import PREFER_MIN
from castplan.columns.heights import volume_by_height
from castplan.geometry.channels import Block, lay_on, length_of
from castplan.materials.gate import N_LEVELS, STANDARD_BORES_MM, head
from castplan.mould.fill import Pouring, fill_cavity
from castplan.mould.gate import find_gate
from castplan.mould.halves import make_halves
from castplan.mould.section import cut_sections
from castplan.mould.vents import route_vents

# 100 high when it stands on its end.
SLAB = shapes.box(100.0, 60.0, 20.0)
STANDING = (1.0, 0.0, 0.0)


def standing(**choices):
    """The slab on its end, the split upright through its middle."""
    return Setup(SLAB, up=STANDING, parting_mm=0.0, job=records.Job(**choices))


def gate_of(setup):
    return find_gate(setup.silicone, setup.feed, setup.mould, setup.job)


def fill_of(setup):
    pouring = Pouring(air=setup.air, gate=gate_of(setup))
    return fill_cavity(setup.part, pouring, setup.draw, setup.job)


def test_what_lies_over_the_cup_is_told_and_not_timed():
    setup = standing(feed="riser")
    rest, (port, *others) = setup.attitude.rest, setup.mould.ports
    assert port.kind == "gate"
    path = rest.to_frame(setup.draw.to_part(port.path_mm))
    low_mm = float(setup.rest_field.low_mm[2])
    # As if the way out came down to 40 mm over the slab's foot, the cup's surface above it.
    path[-1, 2] = low_mm + 40.0
    bent = replace(port, path_mm=setup.draw.to_frame(rest.to_part(path)))
    mould = replace(setup.mould, ports=(bent, *others))
    gate = find_gate(setup.silicone, setup.feed, mould, setup.job)
    over_mm = 100.0 - 40.0 - head().value
    # Within one of the levels that the cavity is cut into.
    assert gate.unfed_ml == pytest.approx(60 * 20 * over_mm / 1000, abs=120 / N_LEVELS)
    assert 0 < gate.fill_low_s < gate.fill_high_s < np.inf
    assert gate_of(setup).unfed_ml == 0


# -- which -------------------------------------------------------------------------


def test_the_cheapest_place_is_taken_once_it_saves_the_margin():
    free = {"riser_min": 0.0, "drop_min_per_mm": 0.2}
    for weights in (records.AirWeights(), records.AirWeights(**free)):
        feed = standing(air_weights=weights).feed
        top = next(option for option in feed.options if option.feed == "top")
        riser = next(option for option in feed.options if option.feed == "riser")
        wins = top.cost_min - riser.cost_min > PREFER_MIN
        assert feed.chosen.feed == ("riser" if wins else "top")
        assert not feed.is_asked_for
    # The last weights make the fall dear: it is worth a riser.
    assert wins


@pytest.mark.parametrize("way", ["top", "riser"])
def test_the_job_can_name_the_feed(way):
    feed = standing(feed=way).feed
    assert feed.chosen.feed == way and feed.is_asked_for and str(feed.why) == "as you chose"


def test_costs_are_their_parts():
    weights = records.AirWeights()
    for option in standing().feed.options:
        making = weights.groove_min + (weights.riser_min if option.feed == "riser" else 0.0)
        making += weights.riser_min_per_mm * length_of(option.path_mm)
        if option.feed == "top":
            making = weights.groove_min if option.is_on_parting else weights.vent_min
        narrow = weights.thin_gate_min if option.width_mm < option.bore_mm else 0.0
        channel_ml = np.pi / 4 * option.bore_mm**2 * length_of(option.path_mm) / 1000
        resin = weights.resin_min_per_ml * channel_ml
        fall = weights.drop_min_per_mm * option.drop_mm
        vents = option.cost_min - making - narrow - resin - fall
        # Vents in the parting are grooves, the others are bored.
        assert vents >= weights.groove_min * option.n_vents - 1e-9
        assert vents <= weights.vent_min * option.n_vents + 1e-9


def test_no_room_beside_the_part_leaves_the_gate_on_top():
    # A gate of 16 mm and its silicone do not go into the 12 mm beside the part.
    setup = standing(feed="riser", gate_mm=16.0)
    assert setup.feed.chosen.feed == "top" and not setup.feed.is_asked_for
    assert "a riser has no room" in str(setup.feed.why)


# -- how wide ----------------------------------------------------------------------


@pytest.mark.parametrize("resin", ["polyurethane-fast-70d", "epoxy-slow-80d"])
def test_the_bore_is_the_least_standard_one_that_fills_in_time(resin):
    feed = standing(resin=resin).feed
    for option in feed.options:
        usual = [bore for bore in STANDARD_BORES_MM if bore >= option.least_bore_mm]
        assert option.bore_mm == usual[0] >= 6.0


def test_a_bore_that_the_job_names_is_kept():
    setup = standing(gate_mm=4.0)
    assert {option.bore_mm for option in setup.feed.options} == {4.0}
    assert gate_of(setup).bore_mm == 4.0


# -- the way -----------------------------------------------------------------------


def test_a_riser_enters_low_and_lies_in_the_parting():
    setup = standing(feed="riser")
    riser = setup.feed.chosen
    path = riser.path_mm
    # Its mouth low on the slab's side, its end on the box's upper face.
    assert path[0, 0] < -50 + 0.35 * 100
    assert path[-1, 0] == pytest.approx(50 + 12)
    assert path[:, 2] == pytest.approx(0.0, abs=1e-9)
    # Up beside the slab: 30 mm of it, 1.5 of silicone, half the bore.
    assert np.abs(path[1:, 1]).min() >= 30 + 1.5 + 0.5 * riser.bore_mm
    assert setup.openings.gate is None and len(setup.openings.vents) >= 1
    assert [port.is_riser for port in setup.mould.ports] == [True]


def test_lying_a_riser_goes_up_through_a_half():
    setup = Setup(SLAB, parting_mm=0.0, job=records.Job(feed="riser"))
    path = setup.feed.chosen.path_mm
    assert path[-1, 2] == pytest.approx(10 + 12)
    assert path[-1, :2] == pytest.approx(path[-2, :2])
    assert path[-2, 2] == pytest.approx(0.0, abs=1e-9)
    assert path[0, 2] == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("slope", [0.0, 0.1, 0.3])
def test_a_way_on_a_tilted_parting_runs_on_it(slope):
    sheet = records.PartingSurface(
        x0_mm=0.0,
        y0_mm=0.0,
        step_x_mm=50.0,
        step_y_mm=50.0,
        heights_mm=slope * np.array([[0.0, 50.0], [0.0, 50.0]]),
    )
    path = lay_on(sheet, [(5, 5), (40, 5), (40, 45)])
    assert path[:, 2] == pytest.approx(slope * path[:, 0])
    assert len(path) == 3
    expected = 35 * np.hypot(1, slope) + 40
    assert length_of(path) == pytest.approx(expected)


def test_a_way_through_the_part_is_not_clear():
    setup = standing()
    block = Block(
        setup.rest_field,
        setup.openings.frame,
        setup.draw,
        setup.openings.up,
        setup.line.surface,
        setup.box.low_mm,
        setup.box.high_mm,
    )
    beside = block.to_rest(np.array([(-60.0, 36.0, 0.0), (62.0, 36.0, 0.0)]))
    near = block.to_rest(np.array([(-60.0, 33.0, 0.0), (62.0, 33.0, 0.0)]))
    assert block.is_clear(beside, bore_mm=6.0)
    assert not block.is_clear(near, bore_mm=6.0)  # 3 mm off the slab, as wide as its half


# -- what follows ------------------------------------------------------------------


def test_the_cavity_fills_from_the_mouth_of_the_riser():
    arch = shapes.extruded(
        [(0, 0), (10, 0), (10, 20), (30, 20), (30, 0), (40, 0), (40, 30), (0, 30)], 10
    )
    # Standing on its feet, one leg is fed and the other fills over the crown.
    setup = Setup(arch, job=records.Job(feed="riser"), parting_mm=5.0)
    assert setup.openings.gate is None
    fill = fill_of(setup)
    told = [frame.filled_ml + frame.caught_ml for frame in fill.frames]
    assert max(told) <= fill.cavity_ml * (1 + 1e-9)
    assert told[-1] == pytest.approx(fill.cavity_ml, rel=1e-6)  # levels are bisected
    assert fill.caught_ml == pytest.approx(0.0, abs=1e-9)
    # Only the leg that is not fed takes its resin over an edge.
    assert sum(basin.volume_ml for basin in fill.basins) == pytest.approx(2.0, rel=0.02)


def test_layers_add_up_to_the_body():
    field = bodies.look(*bodies.arrays(bodies.cuboid((0, 30), (0, 20), (0, 10))))
    middle, volume = volume_by_height(field, n_levels=10)
    assert middle == pytest.approx(np.arange(10) + 0.5)
    assert volume == pytest.approx(np.full(10, field.volume_mm3 / 10))


def test_vents_stand_over_the_cup_at_a_tilt_too():
    lean = np.tan(np.radians(15.0))
    setup = Setup(bodies.posts((8, 14, 11, 20)), up=(lean, 0.0, 1.0), parting_mm=0.0)
    gate = setup.mould.ports[0]
    vents = [
        filled(
            records.Port,
            label=str(n),
            kind="vent",
            place_mm=setup.openings.peaks[k].place_mm,
            path_mm=np.array([setup.openings.peaks[k].place_mm, (0, 0, 0)]),
            diameter_mm=2.5,
        )
        for n, k in enumerate(setup.openings.vents, start=1)
    ]
    mould = replace(setup.mould, ports=(gate, *vents))
    routes = route_vents(setup.silicone, mould, cup_high_mm=25.0).routes
    up = np.asarray(setup.openings.up)
    rim = np.add(routes[0].exit_mm, (0, 0, 25.0)) @ up
    for route in routes[1:]:
        mouth = np.add(route.exit_mm, (0, 0, route.straw_mm)) @ up
        assert mouth >= rim - 1e-9


def riser_mould():
    """Halves of a slab with a riser in the level parting, and the same without."""
    body = shapes.box(60.0, 40.0, 20.0)
    ports = [((0, 0, 10.0), "vent", 2.5)]
    plain = moulds.make_mould(body, 0.0, ports=ports, job=records.Job(wall_mm=14.0))
    high = plain.box.high_mm
    path = np.array([(-30.0, 0.0, 0.0), (-38.0, 0.0, 0.0), (-38.0, high[1], 0.0)])
    riser = filled(
        records.Port,
        label="G",
        kind="gate",
        place_mm=(-30.0, 0.0, 0.0),
        path_mm=path,
        diameter_mm=6.0,
        length_mm=length_of(path),
        is_riser=True,
    )
    keys = replace(plain.keys, places_mm=np.empty((0, 3)))
    bare = replace(plain.cut, keys=keys)
    with_riser = replace(bare, ports=(riser, *bare.ports))
    cut, uncut = (make_halves(plain.part, each) for each in (with_riser, bare))
    return plain.part, with_riser, path, cut, uncut


def test_the_halves_have_the_riser_half_each():
    _, _, path, cut, bare = riser_mould()
    for half in (cut.upper, cut.lower):
        assert moulds.as_trimesh(half).is_watertight
    total = cut.upper.volume_mm3 + cut.lower.volume_mm3 + cut.cavity_mm3 + cut.ports_mm3
    assert total == pytest.approx(cut.box_mm3, rel=1e-9)
    # Two legs that meet square in a ball: each loses its share of the corner, which
    # the ball gives back but for about a tenth of r cubed.
    bore = shapes.polygon_factor(48) * 9 * length_of(path)
    assert cut.ports_mm3 - bare.ports_mm3 == pytest.approx(bore, abs=0.5 * 27)
    upper = bare.upper.volume_mm3 - cut.upper.volume_mm3
    # The halves part a micrometre off the axis.
    assert upper == pytest.approx(bare.lower.volume_mm3 - cut.lower.volume_mm3, rel=5e-3)


def test_the_section_shows_the_riser_where_it_runs():
    part, with_riser, path, _, _ = riser_mould()
    front, side = cut_sections(part, with_riser)
    # The front cut runs along its first leg, at the height of the parting.
    ring = dict(front.ports_mm)["G"]
    assert ring[:, 0].min() == pytest.approx(-41, abs=0.05)  # the bend's ball
    assert ring[:, 0].max() == pytest.approx(-30, abs=0.05)
    assert ring[:, 1].min() == pytest.approx(-3, abs=0.05)
    assert np.ptp(ring[:, 1]) == pytest.approx(6, abs=0.05)
    # The side cut is elsewhere along x.
    assert "G" not in dict(side.ports_mm)
    assert path[0, 0] == -30


@pytest.mark.parametrize("vents_at", [(), ((50.0, 20.0, 5.0),), ((0.0, 5.0, 10.0),)])
def test_a_riser_goes_with_vents_that_the_shop_names(vents_at):
    setup = standing(feed="riser", vents_at=vents_at)
    assert setup.openings.gate is None
    # Whatever is named, something lets the air out.
    assert len(setup.openings.vents) + len(setup.openings.extra_vents_mm) >= 1
    fill = fill_of(setup)
    last = fill.frames[-1]
    assert last.filled_ml + last.caught_ml == pytest.approx(fill.cavity_ml, rel=1e-9)
