"""Slow flow against closed forms and the `fluids` package.

Hagen and Poiseuille, Torricelli, Stokes and Boyle, worked by hand.
"""

import math

import fluids
import pytest
from scipy.integrate import solve_ivp

from castplan.materials import flow

G_M_S2 = 9.81


# -- pipes ------------------------------------------------------------------------


def test_filling_from_below_takes_the_time_of_a_bottom_gate():
    # Closed form, 2 A / (a sqrt(2 g)) (sqrt(h) - sqrt(h - d)): mould 0.5 m2, gate 10 cm2, head
    # 0.30 m, 0.25 m deep: 73.17 s (without friction, g 9.81). Half a percent for the last of
    # 400 levels.
    n, area_cm2, gate_cm2 = 400, 5000.0, 10.0
    levels_mm = [250 * (k + 0.5) / n for k in range(n)]
    time_s = flow.fill_time_s(
        [area_cm2 * 25 / n] * n,
        [300 - level for level in levels_mm],
        diameter_mm=10 * math.sqrt(4 * gate_cm2 / math.pi),
        length_mm=1.0,
        viscosity_mpa_s=1e-6,
        density_g_ml=1.0,
    )
    assert time_s == pytest.approx(73.17, rel=5e-3)


def test_a_stiff_resin_fills_as_a_falling_head_in_a_pipe():
    # Drag alone: Q = k h, so a tank of area A takes A / k ln(h0 / h1) (from the pipe law).
    n = 400
    pipe = {
        "diameter_mm": 6.0,
        "length_mm": 80.0,
        "viscosity_mpa_s": 50_000.0,
        "density_g_ml": 1.1,
    }
    time_s = flow.fill_time_s(
        [12.0 * 4 / n] * n, [77 - 40 * (k + 0.5) / n for k in range(n)], **pipe
    )
    k_ml_s_mm = math.pi * 1100 * G_M_S2 * 0.003**4 / (8 * 50 * 0.08) * 1e6 / 1000
    # 48 ml over 40 mm: 1.2 ml for each millimetre.
    assert time_s == pytest.approx(1.2 / k_ml_s_mm * math.log(77 / 37), rel=1e-3)
    assert flow.fill_time_s([1.0], [0.0], **pipe) == math.inf


def rate_ml_s(drop_pa, *, density_g_ml=1e-3, **pipe):
    """Flow at a pressure, given as head; so thin a liquid that its speed takes no share."""
    head_mm = 1000 * drop_pa / (1000 * density_g_ml * G_M_S2)
    return flow.pipe_flow(head_mm=head_mm, density_g_ml=density_g_ml, **pipe).rate_ml_s


def test_flow_of_a_long_pipe():
    # Closed form, 32 mu L v / D^2: 0.05 Pa s, bore 0.1 m, 0.6 m/s, 120 m: 11 520 Pa.
    found = rate_ml_s(11_520, diameter_mm=100, length_mm=120_000, viscosity_mpa_s=50)
    # The speed takes rho v^2 / 2 = 0.18 Pa of the pressure.
    assert found == pytest.approx(math.pi / 4 * 0.1**2 * 0.6 * 1e6, rel=2e-5)


def test_flow_and_reynolds_number_of_an_oil_line():
    # Closed forms, 128 mu L Q / (pi D^4) and 4 rho Q / (pi D mu): 0.1 Pa s, bore 50 mm, 300 m,
    # 3.5 l/s, 900 kg/m3: 684.5 kPa and 802.
    found = rate_ml_s(684_500, diameter_mm=50, length_mm=300_000, viscosity_mpa_s=100)
    assert found == pytest.approx(3500, abs=0.5)  # 684.5 is printed to four digits
    reynolds = flow.reynolds_in_pipe(3500, diameter_mm=50, viscosity_mpa_s=100, density_g_ml=0.9)
    assert reynolds == pytest.approx(802, abs=0.5)


@pytest.mark.parametrize("bore_mm", [3.0, 8.0])
def test_the_drop_that_fluids_gives_drives_the_flow(bore_mm):
    rate_m3_s = 1e-7
    drop_pa = fluids.one_phase_dP(m=rate_m3_s * 1050, rho=1050, mu=0.065, D=bore_mm / 1000, L=0.04)
    # What its speed takes besides, rho v^2 / 2.
    drop_pa += 1050 * (rate_m3_s / (math.pi / 4 * (bore_mm / 1000) ** 2)) ** 2 / 2
    pipe = {"diameter_mm": bore_mm, "length_mm": 40, "viscosity_mpa_s": 65}
    assert rate_ml_s(drop_pa, density_g_ml=1.05, **pipe) == pytest.approx(0.1, rel=1e-9)


@pytest.mark.parametrize(("radius_mm", "rate_ml_s"), [(3, 0.343), (5, 2.65)])
def test_a_full_upright_tube_of_thick_resin(radius_mm, rate_ml_s):
    # Q = pi rho g r^4 / (8 mu), Hagen and Poiseuille with the tube's own weight
    # as the drive; 1 Pa s, 1100 kg/m3.
    found = flow.pipe_flow(
        diameter_mm=2 * radius_mm,
        length_mm=100,
        head_mm=100,
        viscosity_mpa_s=1000,
        density_g_ml=1.1,
    )
    # Printed to three digits; the speed takes under a thousandth of the head.
    assert found.rate_ml_s == pytest.approx(rate_ml_s, rel=3e-3)
    assert found.is_laminar and found.reynolds < 1


@pytest.mark.parametrize(
    ("area_mm2", "head_mm", "volume_ml", "time_s", "tolerance_s"),
    [
        # Closed form, V / (A sqrt(2 g h)): 198.1 cm/s, 495 cm3/s, 3.15 s.
        (250.0, 200.0, 1560.0, 3.15, 0.01),
        # 175 mm, 444 mm2, 1376 cm3: 1.67 s.
        (444.0, 175.0, 1376.0, 1.67, 0.01),
        # 10 mm across, 250 mm: 173 942 mm3/s, here for a 100 mm cube.
        (math.pi * 25.0, 250.0, 1000.0, 5.75, 0.01),
    ],
)
def test_a_thin_liquid_runs_out_by_torricelli(area_mm2, head_mm, volume_ml, time_s, tolerance_s):
    found = flow.pipe_flow(
        diameter_mm=2 * math.sqrt(area_mm2 / math.pi),
        length_mm=head_mm,
        head_mm=head_mm,
        viscosity_mpa_s=1e-6,
        density_g_ml=1.0,
    )
    assert volume_ml / found.rate_ml_s == pytest.approx(time_s, abs=tolerance_s)
    assert not found.is_laminar


def test_more_head_more_flow_no_head_none():
    common = {
        "diameter_mm": 8.0,
        "length_mm": 12.0,
        "viscosity_mpa_s": 65.0,
        "density_g_ml": 1.05,
    }
    rates = [flow.pipe_flow(head_mm=head, **common).rate_ml_s for head in (0, 10, 20, 40)]
    assert rates[0] == 0 and rates == sorted(rates)
    # Never above either law alone.
    drag_only = math.pi * 0.004**4 * 1050 * G_M_S2 * 0.04 / (8 * 0.065 * 0.012) * 1e6
    speed_only = math.pi * 0.004**2 * math.sqrt(2 * G_M_S2 * 0.04) * 1e6
    assert rates[-1] < min(drag_only, speed_only)


# -- gaps --------------------------------------------------------------------------


@pytest.mark.parametrize("gap_mm", [0.3, 1.0])
def test_reach_into_a_gap_is_the_integral_of_plane_poiseuille_flow(gap_mm):
    # Mean speed between plates b^2 dp / (12 mu x), dp over the wetted length x.
    b, push_pa, viscosity = gap_mm / 1000, 1050 * G_M_S2 * 0.04, 0.0975
    start = 1e-5
    run = solve_ivp(
        lambda _, x: b**2 * push_pa / (12 * viscosity * x), (0, 60), [start], rtol=1e-9, atol=1e-12
    )
    found = flow.gap_reach_mm(
        gap_mm, head_mm=40, time_s=60, viscosity_mpa_s=97.5, density_g_ml=1.05
    )
    assert found == pytest.approx(1000 * run.y[0, -1], rel=1e-4)


# -- bubbles -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("diameter_mm", "rigid_mm_s"), [(0.1, 0.0060), (0.5, 0.150), (1.0, 0.600), (2.0, 2.398)]
)
def test_bubbles_in_thick_resin(diameter_mm, rigid_mm_s):
    # U = d^2 rho g / (18 mu) at 1100 kg/m3 and 1 Pa s; half as fast again when
    # clean (Hadamard and Rybczynski, viscosity ratio 0).
    clean_mm, rigid_mm = flow.smallest_riser_mm(
        60 * rigid_mm_s, time_s=60, viscosity_mpa_s=1000, density_g_ml=1.1
    )
    # Speeds printed to a unit of their last digit, the diameter goes by their root.
    assert rigid_mm == pytest.approx(diameter_mm, rel=5e-4)
    assert clean_mm == pytest.approx(rigid_mm / math.sqrt(1.5))


def test_bubble_speed_is_that_of_fluids():
    # Negative: it rises.
    speed_mm_s = -1000 * fluids.v_terminal(D=1e-3, rhop=1.2, rho=1100.0, mu=1.0)
    _, rigid_mm = flow.smallest_riser_mm(
        60 * speed_mm_s, time_s=60, viscosity_mpa_s=1000, density_g_ml=1.1
    )
    # fluids weighs the air (0.11 %) and corrects Stokes for Re 7e-4; half of it in the root.
    assert rigid_mm == pytest.approx(1.0, rel=1.5e-3)


def test_a_bubble_rises_as_stokes_has_it():
    # Closed form, 2 rho g r^2 / (9 v): radius 0.1 mm, 0.35 cm/s, 1000 kg/m3: 6.2e-3 Pa s (g 9.8).
    _, rigid_mm = flow.smallest_riser_mm(3.5, time_s=1, viscosity_mpa_s=6.2, density_g_ml=1.0)
    assert rigid_mm == pytest.approx(0.2, rel=0.005)


def test_stokes_gives_no_answer_where_it_does_not_hold():
    # So long a path is made in time by a fast bubble only.
    assert flow.smallest_riser_mm(5000, time_s=10, viscosity_mpa_s=65, density_g_ml=1.05) is None


def test_pressure_shrinks_a_bubble_by_boyle():
    # p V constant; standard atmosphere 1.01325 bar.
    for gauge_bar in (0.0, 2.8, 4.1):
        left = flow.pressed_fraction(gauge_bar)
        assert left * (1.01325 + gauge_bar) == pytest.approx(1.01325)
