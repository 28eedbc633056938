"""Gate, fill film, thin walls and the trade between draws and attitudes.

Times and volumes are closed forms of the bodies made here; weights and shares are the
job's own, assumed.
"""

import math
from dataclasses import replace

import bodies
import numpy as np
import pytest
import shapes
from output.neutral import filled
from pouring import LEVEL, Setup

from castplan import records
from castplan.air.feed import PREFER_MIN
from castplan.air.stand_findings import list_stand_findings
from castplan.air.trade import choose_draw, rank_combinations, stand_draws
from castplan.bench.amounts import weigh_out
from castplan.columns.narrows import find_narrows
from castplan.materials.cards import get_card, pot_life_at
from castplan.materials.flow import pipe_flow
from castplan.materials.gate import standing_cup_mm
from castplan.mould import fill as fill_stage
from castplan.mould.fill import Pouring, fill_cavity
from castplan.mould.gate import find_gate
from castplan.mould.opening_findings import list_opening_findings
from castplan.mould.pour_findings import list_pour_findings

SAMPLING = 0.01


def gate_of(setup):
    return find_gate(setup.silicone, setup.feed, setup.mould, setup.job)


def fill_of(setup):
    pouring = Pouring(air=setup.air, gate=gate_of(setup))
    return fill_cavity(setup.part, pouring, setup.draw, setup.job)


# -- gate --------------------------------------------------------------------------


def test_fill_time_is_the_cavity_over_pipe_flow():
    setup = Setup(shapes.box(40, 30, 20), job=records.Job(feed="top"))
    gate = gate_of(setup)
    assert gate.bore_mm == 6.0
    resin = get_card(setup.job.resin, kind="resin")
    times = []
    for factor in (0.5, 1.5):
        flow = pipe_flow(
            diameter_mm=6.0,
            length_mm=12.0,
            head_mm=12.0 + 25.0,
            viscosity_mpa_s=factor * resin.viscosity_mpa_s.value,
            density_g_ml=resin.density_g_ml.value,
        )
        # 40 x 30 x 20 mm3, and no faster than 300 ml are poured in a minute.
        times.append(24.0 / min(flow.rate_ml_s, 5.0))
    assert (gate.fill_low_s, gate.fill_high_s) == pytest.approx(times)
    assert times == sorted(times)
    pot_life_min, _, _ = pot_life_at(resin, temperature_c=setup.job.shop_temperature_c)
    assert gate.limit_s == pytest.approx(0.25 * 60 * pot_life_min)
    assert gate.reservoir_ml == pytest.approx(0.1 * 24.0)
    assert gate.is_laminar == (gate.reynolds <= 2000)


@pytest.mark.parametrize("resin", ["polyurethane-fast-70d", "epoxy-slow-80d"])
def test_gate_and_cup_are_poured_at_one_rate(resin):
    setup = Setup(shapes.box(80, 60, 40), job=records.Job(resin=resin, feed="top", gate_mm=6.0))
    gate = gate_of(setup)
    mix = weigh_out(setup.mould, setup.job, gate=gate).mixes[-1]
    rate_ml_s = setup.mould.part_ml / gate.fill_high_s
    assert mix.pour_ml_min == pytest.approx(60 * rate_ml_s)
    # Thin resin would run through at 600 ml a minute, but nobody pours so fast; thick
    # resin does not run through as fast as it is poured.
    if resin.startswith("poly"):
        assert mix.pour_ml_min == pytest.approx(300.0)
    else:
        assert mix.pour_ml_min < 150.0


@pytest.mark.parametrize("kept_ml", [0.5, 7.8, 7.9, 18.0, 60.0])
def test_the_pouring_cup_holds_what_is_to_stay_in_it(kept_ml):
    # A cylinder holds pi d^2 h / 4; 20 mm across and 25 mm high that is 7.85 ml.
    across_mm = standing_cup_mm(kept_ml=kept_ml, high_mm=25.0, least_mm=20.0)
    assert np.pi / 4 * across_mm**2 * 25.0 / 1000 >= kept_ml
    assert across_mm == 20.0 or np.pi / 4 * (across_mm - 5.0) ** 2 * 25.0 / 1000 < kept_ml
    assert (across_mm > 20.0) == (kept_ml > 7.85)


def test_the_cup_of_a_plan_holds_its_reservoir():
    # A block of 200 ml leaves a tenth of its shot in the cup.
    gate = gate_of(Setup(shapes.box(100.0, 50.0, 40.0)))
    assert np.pi / 4 * gate.cup_mm**2 * gate.cup_high_mm / 1000 >= gate.reservoir_ml > 18.0


@pytest.mark.parametrize("resin", ["polyurethane-fast-70d", "epoxy-slow-80d"])
def test_the_least_bore_just_fills_in_time(resin):
    setup = Setup(shapes.box(80, 60, 40), job=records.Job(resin=resin))
    gate = gate_of(setup)
    card = get_card(resin, kind="resin")

    def seconds(bore_mm):
        flow = pipe_flow(
            diameter_mm=bore_mm,
            length_mm=12.0,
            head_mm=37.0,
            viscosity_mpa_s=1.5 * card.viscosity_mpa_s.value,
            density_g_ml=card.density_g_ml.value,
        )
        return 192.0 / flow.rate_ml_s

    assert seconds(gate.least_bore_mm) <= gate.limit_s
    if gate.least_bore_mm > 3.0:
        assert seconds(gate.least_bore_mm - 0.5) > gate.limit_s


def test_gates_are_scored_by_face_parting_and_fall():
    body = bodies.posts((8, 14, 11, 20))
    plain = Setup(body).feed
    assert {option.feed for option in plain.options} == {"top", "riser"}
    costs = [option.cost_min for option in plain.options[1:]]
    assert costs == sorted(costs)
    # The tallest keeps the gate: nothing else saves the margin.
    assert plain.chosen.feed == "top" and plain.chosen.drop_mm == pytest.approx(
        max(option.drop_mm for option in plain.options)
    )
    assert plain.chosen.cost_min <= costs[0] + PREFER_MIN
    drops = {round(o.place_mm[2], 3): o.drop_mm for o in plain.options if o.feed == "top"}
    assert all(drop == pytest.approx(z) for z, drop in drops.items())  # the base stands on 0
    # With the posts' tops shown the tallest, all the way on that side, pays in full.
    shown = Setup(body, job=records.Job(show_face=(0, 0, 1), feed="top")).feed
    tallest = [next(o for o in g.options if o.drop_mm > 24) for g in (plain, shown)]
    assert tallest[1].show_up_fraction == pytest.approx(1)
    assert tallest[1].cost_min - tallest[0].cost_min == pytest.approx(
        records.Job().air_weights.show_up_min
    )
    # Standing on its end with the parting upright a riser can lie in the parting.
    standing = Setup(body, up=(1, 0, 0), parting_mm=2.0).feed
    riser = next(o for o in standing.options if o.feed == "riser")
    lying = next(o for o in plain.options if o.feed == "riser")
    assert riser.is_on_parting and riser.cost_min < lying.cost_min


# -- film --------------------------------------------------------------------------


def test_frames_conserve_the_cavity_and_rise_in_equal_shares():
    setup = Setup(bodies.posts((8, 14, 11, 20)))
    fill = fill_of(setup)
    assert len(fill.frames) == fill_stage.N_FRAMES
    for frame in fill.frames:
        assert frame.filled_ml + frame.caught_ml <= fill.cavity_ml * (1 + 1e-9)
    levels = [frame.level_mm for frame in fill.frames]
    assert levels == sorted(levels)
    filled_ml = np.array([frame.filled_ml for frame in fill.frames])
    # Every post has its opening: equal shares of all, to the bisection's micrometre
    # over at most 900 mm2 of level.
    assert filled_ml == pytest.approx(fill.cavity_ml * np.arange(1, 13) / 12, abs=2e-3)
    assert fill.caught_ml == pytest.approx(0, abs=1e-9)


def test_a_tower_without_a_vent_shows_its_air():
    # Towers on one base: 16 x 16 mm2, 20 and 35 high; one opening on the higher.
    setup = Setup(shapes.two_towers(), job=records.Job(max_vents=0))
    assert setup.openings.vents == ()
    fill = fill_of(setup)
    assert fill.caught_ml == pytest.approx(16 * 16 * 20 / 1000, rel=SAMPLING)
    last = fill.frames[-1]
    assert last.filled_ml + last.caught_ml == pytest.approx(fill.cavity_ml, abs=1e-9)
    # The ring round the air, seen from the front: 16 x 20 mm over the base.
    points = np.concatenate(last.air)
    assert np.ptp(points, axis=0) == pytest.approx((16, 20), abs=1.5)
    assert points[:, 1].min() == pytest.approx(10, abs=1.0)


def test_an_arch_poured_on_its_crown_falls_into_both_legs():
    profile = [(0, 0), (10, 0), (10, 20), (30, 20), (30, 0), (40, 0), (40, 30), (0, 30)]
    fill = fill_of(Setup(shapes.extruded(profile, 10)))
    assert len(fill.basins) == 2
    for basin in fill.basins:
        assert basin.volume_ml == pytest.approx(10 * 10 * 20 / 1000, rel=SAMPLING)
        assert basin.sill_mm == pytest.approx(20, abs=1e-6)
        assert basin.drop_mm == pytest.approx(20, abs=1e-6)
        assert basin.place_mm[2] == pytest.approx(0, abs=1e-6)


def test_pot_and_bubble_numbers_come_with_the_film():
    setup = Setup(shapes.box(40, 30, 20))
    fill = fill_of(setup)
    # Boyle: 1.01325 bar over itself and 2.8 and 4.1 bar more.
    assert fill.pot_fraction == pytest.approx((1.01325 / 3.81325, 1.01325 / 5.11325))
    clean, rigid = fill.bubble_mm
    assert rigid == pytest.approx(clean * math.sqrt(1.5))
    assert fill.bubble_way_mm == pytest.approx(20)
    # Bubbles rise in what is left of the pot life once the slowest pour has filled it.
    resin = get_card(setup.job.resin, kind="resin")
    pot_life_min, _, _ = pot_life_at(resin, temperature_c=setup.job.shop_temperature_c)
    left_s = 60 * pot_life_min - gate_of(setup).fill_high_s
    assert fill.bubble_time_s == pytest.approx(left_s) and left_s > 1


# -- thin walls --------------------------------------------------------------------


def test_a_fin_is_thin_from_its_root_to_its_tip():
    # A block with a fin 1 mm thick that stands out 24 mm.
    solid = bodies.cuboid((0, 20), (0, 30), (0, 20)) + bodies.cuboid((20, 44), (0, 30), (9, 10))
    field = bodies.look(*bodies.arrays(solid), pitch_mm=0.25)
    (fin,) = find_narrows(field, limit_mm=3.0)
    assert fin.gap_mm == pytest.approx(1.0)
    assert fin.way_mm == pytest.approx(24, rel=0.1)  # steps and diagonals over-run by 8 %
    assert fin.area_mm2 == pytest.approx(24 * 30, rel=0.02)
    assert fin.far_mm[0] == pytest.approx(44, abs=0.5)
    assert find_narrows(field, limit_mm=0.9) == []


def test_rounded_edges_are_not_thin_walls():
    body = shapes.sphere(10)
    field = bodies.look(body.vertices_mm, body.faces, pitch_mm=0.25)
    assert find_narrows(field, limit_mm=3.0) == []


def test_a_long_thin_fin_is_told_with_a_thick_resin():
    solid = bodies.cuboid((0, 12), (0, 60), (0, 12))
    solid += bodies.cuboid((12, 120), (0, 60), (5.9, 6.1))
    setup = Setup(bodies.arrays(solid), job=records.Job(resin="epoxy-slow-80d"), across=240)
    fill = fill_of(setup)
    worst = fill.thin[0]
    assert worst.gap_mm == pytest.approx(0.2, abs=0.01)
    assert worst.way_mm == pytest.approx(108, rel=0.1)
    codes = [finding.code for finding in findings_of(setup, fill)]
    assert ("short-fill" in codes) == (worst.reach_mm < worst.way_mm)


# -- trade and findings ------------------------------------------------------------


def option(up, cost_min, n_vents=2, left_mm3=0.0):
    return filled(
        records.AttitudeOption,
        up=up,
        rest="+z",
        n_vents=n_vents,
        left_mm3=left_mm3,
        vents_min=6.0,
        gate_min=3.0,
        cost_min=cost_min,
    )


UP, ALONG = (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)


def pairs_of(job=None, *, left_mm3=0.0, own_min=21.0, other_min=19.5, **choices):
    """A draw of `own_min` and one of `other_min`; attitudes of 12 and 30 minutes each."""
    job = job or records.Job(**choices)
    part = shapes.part_of(*bodies.arrays(bodies.cuboid((0, 30), (0, 20), (0, 10))))
    candidates = tuple(
        filled(
            records.DrawCandidate,
            direction=direction,
            silicone_ml=silicone_ml,
            seam_mm=100.0,
            seam_on_show_mm=20.0,
            cost_min=cost_min,
        )
        for direction, silicone_ml, cost_min in ((UP, 100.0, own_min), (ALONG, 300.0, other_min))
    )
    draw = filled(records.DrawResult, frame=LEVEL, direction=UP, candidates=candidates)
    own = option((0.0, 0.0, 1.0), 12.0 if not left_mm3 else 132.0, left_mm3=left_mm3)
    other = option((0.0, 1.0, 0.0), 30.0 if not left_mm3 else 150.0, left_mm3=left_mm3)

    def stand(frame, box_mm):
        assert (np.asarray(box_mm) > 0).all()
        return None, (own, other)

    standings = stand_draws(part, draw, job, stand=stand)
    moved, chosen = choose_draw(draw, standings, job)
    return moved, rank_combinations(moved, standings, chosen.options, job)


def trade_of(job=None, **choices):
    return pairs_of(job, **choices)[1]


def test_combinations_add_up_and_stand_in_order():
    draw, trade = pairs_of()
    assert len(trade.combinations) == 4
    weights = records.Job().draw_weights
    for pair in trade.combinations:
        parts = (
            pair.draw_min,
            pair.seam_min,
            pair.stand_min,
            pair.gate_min,
            pair.vents_min,
            pair.air_min,
        )
        assert pair.cost_min == pytest.approx(sum(parts))
        # 100 mm of seam to trim, 20 of it where it shows: its share of the draw's own minutes.
        show_min = 20 * weights.show_seam_min_per_mm
        assert pair.seam_min == pytest.approx(show_min + 100 * weights.seam_min_per_mm)
    # Draws of 21 and 19.5 minutes with attitudes of 12 and 30, and 1 for the seam.
    costs = [pair.cost_min for pair in trade.combinations]
    assert costs == pytest.approx([32.5, 34, 50.5, 52])
    # 1.5 minutes do not move the draw, and the plan says so.
    assert draw.direction == UP
    assert [pair.is_chosen for pair in trade.combinations] == [False, True, False, False]
    assert "would save 2 points" in str(trade.why) and trade.chosen is trade.combinations[1]
    assert trade.best.silicone_ml == 300


@pytest.mark.parametrize(("saved_min", "moves"), [(9.9, False), (10.1, True)])
def test_the_draw_moves_for_more_than_the_margin(saved_min, moves):
    draw, trade = pairs_of(own_min=40.0, other_min=40.0 - saved_min)
    assert draw.direction == (ALONG if moves else UP)
    assert draw.candidates[0].direction == draw.direction and len(draw.candidates) == 2
    assert trade.chosen.draw == draw.direction
    if moves:
        assert trade.best.is_chosen and "10 points more" in str(trade.why)


@pytest.mark.parametrize("asked", [{"draw": (0, 0, 1)}, {"up": (0, 0, 1)}])
def test_what_the_job_names_stays(asked):
    draw, trade = pairs_of(own_min=90.0, other_min=10.0, **asked)
    assert draw.direction == UP
    assert "as you chose" in str(trade.why)


def test_air_that_stays_counts_where_vents_may_not_be_more():
    # 2 ml left at 60 minutes a millilitre, where one vent is allowed and two are needed.
    left = trade_of(records.Job(max_vents=1), left_mm3=2000.0).best
    assert left.air_min == pytest.approx(120)
    assert trade_of(left_mm3=2000.0).best.air_min == 0


def findings_of(setup, fill, **changes):
    """Findings of the pour, as `changes` have air and mould."""
    found = {"feed": setup.feed, "gate": gate_of(setup), "trade": trade_of()} | changes
    air_parts = {k: v for k, v in found.items() if k in ("attitude", "feed", "rocking", "trade")}
    made = {k: v for k, v in found.items() if k not in air_parts}
    air = replace(setup.air, **air_parts)
    mould = filled(records.Mould, block=setup.mould, fill=fill, **made)
    return (
        *list_stand_findings(air),
        *list_pour_findings(setup.draw, air, mould, setup.job),
        *list_opening_findings(setup.draw, setup.openings, mould, setup.job),
    )


def test_a_blocked_gate_stops_and_a_blocked_vent_warns():
    setup = Setup(shapes.two_towers())
    fill = fill_of(setup)
    routes = tuple(
        filled(records.Route, label=label, route=route, path_mm=np.zeros((2, 3)), exit_face="left")
        for label, route in (("G", "none"), ("1", "none"), ("2", "sideways"), ("3", "slanted"))
    )
    found = findings_of(setup, fill, vents=records.VentsResult(routes=routes))
    by_code = {(f.code, f.severity) for f in found}
    assert {("blocked-port", "stop"), ("blocked-port", "warn")} <= by_code
    assert {("sideways-port", "warn"), ("slanted-port", "note")} <= by_code


def test_too_few_vents_and_a_narrow_gate_are_told():
    setup = Setup(bodies.posts((8, 14, 11, 20)), job=records.Job(max_vents=1, gate_mm=1.0))
    codes = {finding.code for finding in findings_of(setup, fill_of(setup))}
    assert {"air-left", "gate-narrow", "caught-air"} <= codes
    setup = Setup(bodies.posts((8, 14, 11, 20)))
    codes = {finding.code for finding in findings_of(setup, fill_of(setup))}
    assert not codes & {"air-left", "gate-narrow", "caught-air", "level-roof"}
