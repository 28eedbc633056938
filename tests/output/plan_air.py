"""INVENTED attitude, openings, fill and trade of the hand-made plan."""

import numpy as np
from output.neutral import filled

from castplan import records

UP = (0.0, 1.0, 0.0)  # of the part frame, which is the draw frame here


def _option(*, up, rest, tilt_deg, cost_min, n_vents, why):
    return filled(
        records.AttitudeOption,
        up=up,
        rest=rest,
        tilt_deg=tilt_deg,
        toward_deg=75.0,
        n_vents=n_vents,
        caught_mm3=930.0,
        cost_min=cost_min,
        why=why,
    )


def make_attitude(pour: records.Frame) -> records.AttitudeResult:
    """Three ways to stand it, and a map of a few directions."""
    ups = np.array([[0, 0, 1.0], [0, 0, -1], [0, 1, 0], [0, -1, 0], [1, 0, 0], [-0.6, 0, 0.8]])
    lean = np.radians(15.0)
    return filled(
        records.AttitudeResult,
        frame=pour,
        rest=pour,
        options=(
            _option(
                up=UP,
                rest="+y",
                tilt_deg=0.0,
                cost_min=18.0,
                n_vents=3,
                why="3 vents; 0.93 ml of air would stay without",
            ),
            _option(
                up=(0.0, float(np.cos(lean)), float(np.sin(lean))),
                rest="+y",
                tilt_deg=15.0,
                cost_min=23.0,
                n_vents=3,
                why="3 vents; no air would stay without",
            ),
            _option(
                up=(0.0, 0.0, 1.0),
                rest="+z",
                tilt_deg=0.0,
                cost_min=31.0,
                n_vents=5,
                why="5 vents; 1.6 ml of air would stay without; a level roof 84 mm long",
            ),
        ),
        map_up=ups,
        map_caught_mm3=np.array([1600.0, 900, 930, 2000, 400, 1200]),
        map_n_vents=np.array([5, 4, 3, 7, 2, 4]),
        map_left_mm3=np.zeros(6),
        map_cost_min=np.array([31.0, 25, 18, 43, 37, 49]),
    )


def make_vents(ports, datum_mm) -> records.VentsResult:
    """A way out for every port; the blocked one goes sideways."""
    return records.VentsResult(
        routes=tuple(
            filled(
                records.Route,
                label=port.label,
                route="sideways" if port.is_blocked else "straight",
                length_mm=port.length_mm,
                bore_mm=port.diameter_mm,
                path_mm=port.path_mm,
                is_straight_up=True,  # as the path is
                half="both" if port.is_blocked else "upper",
                exit_face="right" if port.is_blocked else "top",
                exit_from_corner_mm=tuple(port.place_mm[k] - datum_mm[k] for k in (0, 1)),
                straw_mm=25.0 if port.kind == "vent" else 0.0,
                pour="first",
                when="stick before the first pour, or drill",
            )
            for port in ports
        )
    )


def make_feed() -> records.GatePlan:
    """One place for the gate."""
    return filled(
        records.GatePlan,
        options=(
            filled(
                records.GateOption,
                feed="top",
                drop_mm=66.0,
                width_mm=9.0,
                cost_min=9.3,
                why="fed from the top: falls 66 mm at first",
            ),
        ),
        why="the cheapest place",
    )


def make_gate() -> records.GateResult:
    """A bore and a fill time."""
    return filled(
        records.GateResult,
        bore_mm=8.0,
        least_bore_mm=4.5,
        head_mm=41.0,
        fill_low_s=2.8,
        fill_high_s=4.1,
        limit_s=45.0,
        reynolds=176.0,
        is_laminar=True,
        cup_mm=20.0,
        cup_high_mm=25.0,
        reservoir_ml=10.3,
    )


def make_fill() -> records.FillResult:
    """Six pictures of a block that fills, and what to watch."""

    def picture(share):
        ring = np.array([(0.0, 0.0), (120.0, 0.0), (120.0, 70.0 * share), (0.0, 70.0 * share)])
        bubble = np.array([(100.0, 64.0), (112.0, 64.0), (112.0, 69.0), (100.0, 69.0)])
        return filled(
            records.FillFrame,
            level_mm=70.0 * share,
            filled_ml=98.4 * share,
            caught_ml=0.2 * share,
            resin=(ring,),
            air=(bubble,) if share > 0.9 else (),
        )

    return filled(
        records.FillResult,
        frames=tuple(picture((k + 1) / 12) for k in range(12)),
        cavity_ml=98.4,
        caught_ml=0.2,
        basins=(filled(records.SpillBasin, sill_mm=12.0, drop_mm=9.0, volume_ml=4.4),),
        thin=(filled(records.ThinRegion, gap_mm=0.9, way_mm=14.0, reach_mm=120.0, area_mm2=40.0),),
        bubble_mm=(0.14, 0.17),
        bubble_way_mm=70.0,
        bubble_time_s=175.0,
        pot_bar=(2.8, 4.1),
        pot_fraction=(0.27, 0.2),
    )


def make_rocking() -> records.RockingResult:
    """One vent saved by two tilts."""
    tilt = {"tilt_deg": 30.0}
    return filled(
        records.RockingResult,
        tilts=tuple(records.RockTilt(toward_deg=toward, **tilt) for toward in (0.0, 180.0)),
        n_saved=1,
        vents=(1, 2),
        left_mm3=4.0,
        still_mm3=310.0,
    )


def make_pours() -> records.PoursResult:
    """The upper half catches air under the hook's tip."""
    ring = np.array([(82.0, 25.0), (98.0, 25.0), (98.0, 45.0), (82.0, 45.0), (82.0, 25.0)])
    caught = filled(
        records.CaughtAir, volume_mm3=420.0, area_mm2=320.0, height_mm=2.0, ring_mm=ring
    )
    return records.PoursResult(
        pours=(
            filled(
                records.SiliconePour,
                half="upper",
                caught=(caught,),
                caught_mm3=423.0,
                tilt_deg=15.0,
                toward_deg=180.0,
                tilted_mm3=12.0,
            ),
            filled(records.SiliconePour, half="lower"),
        )
    )


def make_trade() -> records.TradeResult:
    """The plan's own pair and a dearer one."""

    def pair(draw, rest, cost_min, is_chosen):
        return filled(
            records.Combination,
            draw=draw,
            rest=rest,
            n_vents=3,
            silicone_ml=903.0,
            draw_min=cost_min - 18.0,
            gate_min=6.0,
            vents_min=12.0,
            cost_min=cost_min,
            is_chosen=is_chosen,
        )

    return records.TradeResult(
        combinations=(
            pair((0.0, 0.0, 1.0), "+y", 44.2, True),
            pair((0.12, 0.5, 0.8577), "+z", 61.0, False),
        ),
        why="no other pair costs less",
    )
