"""What stands in the Axes: places in mm, ml and hours, against the plan and closed forms."""

from dataclasses import replace

import numpy as np
import pytest
from matplotlib.colors import to_hex
from matplotlib.figure import Figure
from matplotlib.patches import Circle, PathPatch

from castplan import palette, pictures
from castplan.pictures.figure import path_of

# Written with a plan, read back from its lines: nothing but rounding of floats.
ROUNDING = 1e-9


def patch(ax, label):
    return next(one for one in ax.patches if one.get_label() == label)


def line(ax, label):
    return next(one for one in ax.lines if one.get_label() == label).get_xydata()


def extents(artist):
    return np.ptp(artist.get_path().vertices, axis=0)


def area_mm2(path):
    """Of a path of closed rings, holes run the other way (shoelace formula)."""
    total = 0.0
    for ring in path.to_polygons():
        x, y = ring.T
        total += 0.5 * float(x[:-1] @ y[1:] - y[:-1] @ x[1:])
    return total


# -- split ----------------------------------------------------------------------


def test_the_part_has_its_size_and_place_in_the_box(hook, grille, drawn):
    # Plate 96 long, upper tongue's front at 46; grille 124 long, rims up to 5.5: lengths of
    # sample_parts/*.toml. A sketch is half a pixel off on either side.
    for plan, size_mm in ((hook, (96.0, 46.0)), (grille, (124.0, 5.5))):
        ax = drawn(plan, "split")
        part = patch(ax, "part")
        sketch = next(one for one in plan.sketches if one.name == "front")
        assert extents(part) == pytest.approx(size_mm, abs=sketch.pitch_mm)
        low, high = (
            np.array(plan.mould.block.low_mm)[[0, 2]],
            np.array(plan.mould.block.high_mm)[[0, 2]],
        )
        corner = part.get_path().vertices.min(axis=0)
        outline = np.concatenate(sketch.outline).min(axis=0)
        assert corner == pytest.approx(outline - low, abs=ROUNDING)
        box = np.concatenate(
            [ring.get_xydata() for ring in ax.lines if len(ring.get_xydata()) == 5]
        )
        assert box.max(axis=0) == pytest.approx(high - low, abs=ROUNDING)
        assert to_hex(part.get_facecolor()) == palette.PART.lower()
        assert ax.get_aspect() == 1.0


def test_undercuts_are_the_throats_of_the_hook(hook, drawn):
    # Sections of the throats: 303.988 and 723.988 mm2, worked out in sample_parts/coat_hook.toml.
    # Half a pixel, 0.1 mm, all along an edge of some 80 mm is 2.6 % of the smaller one.
    ax = drawn(hook, "split")
    trapped = [one for one in ax.patches if one.get_hatch() == "++++"]
    found = sorted(abs(area_mm2(one.get_path())) for one in trapped)
    assert found == pytest.approx([303.988, 723.988], rel=0.03)
    assert {one.get_text() for one in ax.texts} == {"1", "2"}


def test_a_part_without_undercuts_shows_none(grille, drawn):
    ax = drawn(grille, "split")
    assert [one.get_hatch() for one in ax.patches] == ["///", "\\\\", None]
    assert not ax.texts


def test_halves_meet_at_the_parting(hook, drawn):
    ax = drawn(hook, "split")
    height_mm = hook.split.line.box_height_mm - hook.mould.block.low_mm[2]
    lower = patch(ax, "silicone, lower half").get_path().vertices[:, 1]
    upper = patch(ax, "silicone, upper half").get_path().vertices[:, 1]
    wall = line(ax, "parting at the wall of the box")
    assert lower.max() == upper.min() == pytest.approx(height_mm, abs=ROUNDING)
    assert wall[:, 1] == pytest.approx(height_mm, abs=ROUNDING)


def test_holes_are_open_whichever_way_their_rings_run():
    square = np.array([(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)])
    for turn in (1, -1):
        # A plate of 6, a hole of 4 in it, an island of 2 in that: 36 - 16 + 4.
        path = path_of([3 * square, (2 * square)[::turn], square])
        assert area_mm2(path) == pytest.approx(24.0, abs=ROUNDING)


def test_the_part_lies_in_its_box_from_above(hook, grille, drawn):
    for plan in (hook, grille):
        sketch = next(one for one in plan.sketches if one.name == "pour")
        outline = np.concatenate(sketch.outline)
        vertices = patch(drawn(plan, "vents"), "part").get_path().vertices
        for end in (np.min, np.max):
            place = end(outline, axis=0) - plan.mould.block.datum_mm
            assert end(vertices, axis=0) == pytest.approx(place, abs=ROUNDING)


def test_slots_of_the_grille_are_holes(grille, drawn):
    # Seven slots and the plate's corners (sample_parts/louvre_grille.toml): plate
    # 124 x 64 less 4 corners c r^2, r = 6, less 7 slots of 214.41143 mm2. One slot
    # is 3.3 % of it; pixels taken at their middles err by far less than 1 %.
    part = patch(drawn(grille, "vents"), "part")
    expected = 124 * 64 - 4 * 0.22354286 * 36 - 7 * 214.41143
    assert area_mm2(part.get_path()) == pytest.approx(expected, rel=0.01)


# -- heights --------------------------------------------------------------------


def test_the_curve_of_heights_ends_where_the_plan_ends(hook, grille, drawn):
    for plan in (hook, grille):
        curve = line(drawn(plan, "heights"), "trapped by a flat parting")
        floor_mm = plan.mould.block.low_mm[2]
        for end in (0, -1):
            trapped_ml = plan.split.parting.trapped_mm3[end] / 1000
            place = (trapped_ml, plan.split.parting.heights_mm[end] - floor_mm)
            assert curve[end] == pytest.approx(place, abs=ROUNDING)
    # Under its plate the hook traps both throats: 14.391667 ml, in sample_parts/coat_hook.toml,
    # which keeps 5 % for the sampling.
    curve = line(drawn(hook, "heights"), "trapped by a flat parting")
    assert curve[0, 0] == pytest.approx(14.391667, rel=0.05)


def test_a_parting_that_is_not_flat_is_told(hook, drawn):
    shaped = replace(
        hook.record, split=replace(hook.record.split, line=replace(hook.split.line, kind="stepped"))
    )
    labels = [one.get_label() for one in drawn(shaped, "heights").lines]
    assert "best flat parting (this plan has another kind)" in labels
    assert "parting of this plan" not in labels


# -- maps -----------------------------------------------------------------------


def test_draw_directions_keep_their_areas(grille, drawn):
    # Lambert's azimuthal equal-area projection (Snyder, Map Projections, USGS 1395, 1987,
    # eq. 24-1): radius 2 sin(angle / 2), here over sqrt(2).
    ax = drawn(grille, "directions")
    places = np.concatenate([np.asarray(dots.get_offsets()) for dots in ax.collections])
    cosine = np.abs(grille.split.draw.map_directions @ np.array(grille.split.draw.direction))
    cosine /= np.linalg.norm(grille.split.draw.map_directions, axis=1)
    radii = np.sqrt(2) * np.sin(np.arccos(np.clip(cosine, -1, 1)) / 2)
    found = np.hypot(*places[np.isfinite(places).all(axis=1)].T)
    # Near a cosine of 1 the arccosine loses half the digits of a float: 1e-8.
    assert np.sort(found) == pytest.approx(np.sort(radii), abs=1e-7)


def test_dots_have_areas_by_what_is_trapped(grille, drawn):
    ax = drawn(grille, "directions")
    trapping = next(dots for dots in ax.collections if to_hex(dots.get_facecolor()[0]) == "#d55e00")
    volumes = grille.split.draw.map_trapped_mm3
    volumes = volumes[volumes >= 5.0]
    sizes = trapping.get_sizes()
    assert len(sizes) == len(volumes)
    large = volumes > 0.05 * volumes.max()
    assert sizes[large] / sizes.max() == pytest.approx(volumes[large] / volumes.max())


def test_no_map_is_made_up_for_a_draw_that_was_asked_for(hook, drawn):
    ax = drawn(hook, "directions")
    assert not ax.collections
    assert "asked for" in ax.get_title(loc="left")
    assert "1" in {one.get_text() for one in ax.texts}


def test_the_darkest_positions_cost_most(hook, drawn):
    ax = drawn(hook, "positions")
    shades = np.concatenate([dots.get_facecolor() for dots in ax.collections])
    places = np.concatenate([np.asarray(dots.get_offsets()) for dots in ax.collections])
    turned = hook.air.attitude.map_up @ hook.split.draw.frame.rotation.T
    cost = np.concatenate(
        [hook.air.attitude.map_cost_min[sense * turned[:, 2] >= -1e-9] for sense in (1.0, -1.0)]
    )
    brightness = shades[:, :3].mean(axis=1)
    assert len(places) == len(cost)
    # The shades are six steps: no dot is lighter than one that costs less.
    by_cost = brightness[np.argsort(cost, kind="stable")]
    assert (np.diff(by_cost) <= 1e-12).all()
    away = np.minimum(np.hypot(*places.T), np.hypot(*(places - (2.5, 0.0)).T))
    assert away.max() <= 1.0 + ROUNDING


# -- openings -------------------------------------------------------------------


def test_openings_stand_where_they_are_measured_and_as_wide(hook, grille, drawn):
    for plan in (hook, grille):
        ax = drawn(plan, "vents")
        found = {
            (round(one.radius, 6), *np.round(one.center, 6))
            for one in ax.patches
            if isinstance(one, Circle)
        }
        routes = {route.label: route.path_mm[-1] for route in plan.mould.vents.routes}
        rotation = plan.air.openings.frame.rotation @ plan.split.draw.frame.rotation.T
        for port in plan.mould.block.ports:
            mouth = (rotation @ routes[port.label])[:2] - plan.mould.block.datum_mm
            assert (port.diameter_mm / 2, *np.round(mouth, 6)) in found
            if port.cup_mm:
                assert (round(port.cup_mm / 2, 6), *np.round(mouth, 6)) in found
        gate = next(port for port in plan.mould.block.ports if port.kind == "gate")
        mouth = (rotation @ routes[gate.label])[:2] - plan.mould.block.datum_mm
        # The grille's gate goes straight up, so its mouth stands over its place in the
        # cavity; the hook's is bent into the parting beside it.
        away_mm = 0.5 if plan is grille else 3.0
        place = np.subtract(gate.place_mm[:2], plan.mould.block.datum_mm)
        assert mouth == pytest.approx(place, abs=away_mm)
        box = plan.mould.block.box_view_mm - plan.mould.block.datum_mm
        assert any(
            len(one.get_xydata()) == len(box) + 1
            and np.allclose(one.get_xydata()[:-1], box, atol=ROUNDING)
            for one in ax.lines
        )


def test_a_millimetre_of_the_mould_is_one_on_paper(hook, grille, drawn):
    for plan in (hook, grille):
        ax = drawn(plan, "vents")
        corners = ax.transData.transform([(0.0, 0.0), (100.0, 100.0)])
        on_paper_mm = np.diff(corners, axis=0)[0] / ax.figure.dpi * 25.4
        assert on_paper_mm == pytest.approx((100.0, 100.0), abs=1e-6)
        assert ax.get_title(loc="left").endswith("true size")


def test_only_a_figure_of_its_own_is_said_to_be_at_true_size(hook):
    ax = pictures.draw_vents(hook, Figure().subplots())
    assert ax.get_title(loc="left") == "coat_hook\nGate and vents from above"
    assert ax.get_aspect() == 1.0


# -- fill, times, sizes ---------------------------------------------------------


def test_the_curve_of_the_fill_ends_with_the_whole_cavity(hook, grille, drawn):
    for plan in (hook, grille):
        ax = drawn(plan, "fill")
        resin, air = line(ax, "resin in the cavity"), line(ax, "air trapped")
        first, last = plan.mould.fill.frames[0], plan.mould.fill.frames[-1]
        assert resin[0] == pytest.approx((first.level_mm, first.filled_ml), abs=ROUNDING)
        assert resin[-1] == pytest.approx((last.level_mm, last.filled_ml), abs=ROUNDING)
        # What is filled and what is caught is the part's volume by its mesh, but for sampling.
        whole_ml = plan.part.check.volume_mm3 / 1000
        assert resin[-1, 1] + air[-1, 1] == pytest.approx(whole_ml, rel=0.002)


def test_bars_begin_and_end_with_hands_and_waits(hook, drawn):
    ax = drawn(hook, "times")
    tasks = hook.bench.timeline.tasks
    bars = {"hands": [], "waits": []}
    for one in ax.collections:
        box = one.get_paths()[0].get_extents()
        kind = "hands" if to_hex(one.get_facecolor()[0]) == palette.LOWER.lower() else "waits"
        bars[kind].append((box.x0, box.x1))
    least_h = 0.004 * hook.bench.timeline.finish_min / 60
    hands = [
        (task.start_min / 60, max(task.hands_end_min, task.start_min + 60 * least_h) / 60)
        for task in tasks
    ]
    waits = [
        (task.hands_end_min / 60, task.end_min / 60)
        for task in tasks
        if task.end_min > task.hands_end_min
    ]
    assert np.sort(bars["hands"], axis=0) == pytest.approx(np.sort(hands, axis=0), abs=ROUNDING)
    assert np.sort(bars["waits"], axis=0) == pytest.approx(np.sort(waits, axis=0), abs=ROUNDING)
    names = [tick.get_text() for tick in ax.get_yticklabels()]
    assert [name for name in names if name.startswith("casting")] == [
        f"casting {k}" for k in (1, 2, 3)
    ]
    assert len(names) == 3 + sum(not task.copy for task in tasks)


def test_intervals_of_the_casting_are_the_plans(hook, drawn):
    ax = drawn(hook, "sizes")
    segments = next(
        one.get_segments() for one in ax.collections if one.__class__.__name__ == "LineCollection"
    )
    for row, (length, segment) in enumerate(zip(hook.bench.fit.lines, segments, strict=True)):
        low, high = length.low_mm - length.original_mm, length.high_mm - length.original_mm
        assert segment == pytest.approx(np.array([(low, row), (high, row)]), abs=ROUNDING)
        assert f"{length.copy_mm:.2f} mm" in ax.texts[row].get_text()
    allowed = next(one for one in ax.collections if one.get_label() == "allowed")
    box = allowed.get_paths()[0].get_extents()
    assert (box.x0, box.x1) == pytest.approx((-0.2, 0.2), abs=ROUNDING)
    assert len(hook.bench.fit.lines) == 4


# -- where they are drawn --------------------------------------------------------


def test_every_picture_returns_the_axes_it_was_given(hook):
    for name in pictures.NAMES:
        ax = Figure().subplots()
        assert getattr(pictures, f"draw_{name}")(hook, ax) is ax
        assert ax.get_title(loc="left").startswith("coat_hook\n")


def test_without_axes_pyplot_makes_a_figure(hook):
    import matplotlib
    from matplotlib import pyplot

    matplotlib.use("agg")
    ax = pictures.draw_fill(hook.record)
    assert ax.figure is pyplot.gcf()
    pyplot.close(ax.figure)


def test_a_plan_and_what_the_front_door_gives_are_drawn_alike(hook, drawn):
    for name in ("split", "sizes"):
        one, other = drawn(hook, name), drawn(hook.record, name)
        assert len(one.get_children()) == len(other.get_children())
        assert any(isinstance(artist, PathPatch) for artist in drawn(hook, "split").patches)
