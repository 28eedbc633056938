"""Silicone between a channel and the parting: closed forms for planes and straight bores.

A web under 2 mm tears: common practice, no source.
"""

import numpy as np
import pytest
from pouring import BLOCK, HIGH, routes_of

from castplan.geometry.channels import WEB_MM, thin_web_mm
from castplan.records import PartingSurface


def plane(slope):
    """A parting z = slope x, over 400 mm."""
    line = np.array([-200.0, 200.0]) * slope
    return PartingSurface(
        x0_mm=-200.0, y0_mm=-200.0, step_x_mm=400.0, step_y_mm=400.0, heights_mm=[line, line]
    )


def beside(slope, away_mm, length_mm=30.0):
    """A way along the steepest line of a plane, so far off it."""
    along = np.array([1.0, 0.0, slope]) / np.hypot(1.0, slope)
    normal = np.array([-slope, 0.0, 1.0]) / np.hypot(1.0, slope)
    start = away_mm * normal
    return np.array([start, start + length_mm * along])


@pytest.mark.parametrize("slope", [0.0, 0.7, -1.5])
@pytest.mark.parametrize("bore_mm", [1.5, 2.5, 6.0])
@pytest.mark.parametrize("side", [1, -1])
def test_a_web_is_what_stands_between_bore_and_plane(slope, bore_mm, side):
    radius = 0.5 * bore_mm

    def web(away_mm):
        return thin_web_mm(plane(slope), beside(slope, side * away_mm), bore_mm=bore_mm)

    # Half in each half as far as half a radius aside; from there on the side is cut open.
    assert web(0.0) is None and web(0.49 * radius) is None
    assert web(0.7 * radius) == 0
    # A bore of its radius off the plane touches it; the rest is subtraction.
    for web_mm in (0.1, 0.5, 1.0, 1.9):
        assert web(radius + web_mm) == pytest.approx(web_mm, abs=1e-9)
    assert web(radius + WEB_MM + 0.01) is None


@pytest.mark.parametrize(("angle_deg", "is_thin"), [(8, True), (15, True), (29, True), (45, False)])
def test_a_bore_that_leaves_the_plane_leaves_a_wedge(angle_deg, is_thin):
    # From half a radius to a radius and the web off the plane takes (r / 2 + 2) / sin(angle):
    # 18.8, 10.1 and 5.4 mm of a bore of 2.5, which tear; at 45 degrees the wedge is blunt.
    angle = np.radians(angle_deg)
    path = np.array([[0, 0, 0], [60 * np.cos(angle), 0, 60 * np.sin(angle)]])
    assert (thin_web_mm(plane(0.0), path, bore_mm=2.5) is not None) == is_thin
    if is_thin:
        # As long as it may be and no longer: cut off before 5 mm of it are thin it is none.
        reach = (0.5 * 1.25 + 4.9 * np.sin(angle)) / np.sin(angle)
        short = path * (reach / 60)
        assert thin_web_mm(plane(0.0), short, bore_mm=2.5) is None


def test_straight_through_the_parting_leaves_none():
    path = np.array([[0, 0, -20], [0, 0, 20.0]])
    assert thin_web_mm(plane(0.0), path, bore_mm=6.0) is None
    assert thin_web_mm(plane(0.0), path[:1], bore_mm=6.0) is None


@pytest.mark.parametrize("aside_mm", [0.9, 1.3, 1.9, 2.6, 3.2])
@pytest.mark.parametrize("side", [1, -1])
def test_a_vent_beside_the_parting_bends_over_into_it(aside_mm, side):
    # The box on its side: +x up, the parting z = 10 stands upright; half of 2.5 mm and 2 mm
    # of web are 3.25.
    route = routes_of(BLOCK, (20, 0, 10 + side * aside_mm), up=(1, 0, 0), parting_mm=10.0)
    assert route.route == "groove" and route.half == "both" and route.thin_web_mm is None
    assert "bent" in str(route.when)
    first, second, last = route.path_mm
    assert first == pytest.approx((20, 0, 10 + side * aside_mm))
    assert second == pytest.approx((20 + 1.5 * aside_mm, 0, 10))
    assert last == pytest.approx((HIGH[0], 0, 10))
    assert route.exit_face == "top"
    assert route.length_mm == pytest.approx(
        aside_mm * np.hypot(1, 1.5) + HIGH[0] - 20 - 1.5 * aside_mm
    )


@pytest.mark.parametrize(("aside_mm", "route"), [(0.6, "groove"), (3.3, "straight")])
def test_in_the_parting_and_well_off_it_a_vent_goes_straight_up(aside_mm, route):
    found = routes_of(BLOCK, (20, 0, 10 + aside_mm), up=(1, 0, 0), parting_mm=10.0)
    assert found.route == route and len(found.path_mm) == 2 and found.thin_web_mm is None


def test_where_a_key_stands_in_the_parting_a_vent_slants_off_it():
    # A key of 3 mm right over the place, in the parting 2.6 mm beside it: no groove there.
    key = (25, 0, 10, 3)
    route = routes_of(BLOCK, (20, 0, 12.6), up=(1, 0, 0), parting_mm=10.0, keys=[key])
    assert route.route == "slanted" and route.thin_web_mm is None
    assert route.path_mm[-1, 2] > 12.6 + WEB_MM


def test_where_nothing_else_is_free_the_web_is_told():
    # Keys in the parting and all round leave only straight up, 2.6 - 1.25 mm off it.
    ring = [
        (30, 7.5 * np.cos(a), 12.6 + 7.5 * np.sin(a), 4.5)
        for a in np.radians(np.arange(0, 360, 30))
    ]
    keys = [(24, 0, 7.5, 3.5), *ring]
    route = routes_of(BLOCK, (20, 0, 12.6), up=(1, 0, 0), parting_mm=10.0, keys=keys)
    assert route.route == "straight"
    assert route.thin_web_mm == pytest.approx(2.6 - 1.25, abs=1e-9)
