"""Of what is as good the larger, then by the part's own axes; and the plan says so.

The bodies are even by construction, so nothing but a rule can choose; that the answers
turn with the body is the law that is checked.

Places are of the bodies made here, by hand.
"""

from dataclasses import replace
from types import SimpleNamespace

import bodies
import bodies_split
import manifold3d
import numpy as np
import pytest
import shapes

from castplan.air.even_findings import list_even_findings
from castplan.air.high_points import PourView, find_air
from castplan.geometry import frames, margins
from castplan.geometry.guard import Guard
from castplan.records import Job
from castplan.split.draw import find_draw

TURNS = [1, 2, 3]
JOB = Job()


def gate_of(solid, seed, *, noise_mm=0.0):
    """High points of a solid turned in its file, up its own z, and its gate in its own axes."""
    points, faces = bodies.arrays(solid)
    points = points + np.random.default_rng(7).uniform(-noise_mm, noise_mm, points.shape)
    turn = np.eye(3) if seed is None else shapes.rotation(seed)
    part = shapes.part_of(points @ turn.T, faces)
    # The columns stand as they like round the way up.
    field = bodies.look(part.vertices_mm, part.faces, bodies.frame_up(turn[:, 2]))
    air = find_air(field, JOB, PourView(guard=Guard(part, JOB)))
    return air.frame.to_part(np.array(air.peaks[air.gate].place_mm)) @ turn, field.pitch_mm


@pytest.mark.parametrize("noise_mm", [0.0, 1e-3])
@pytest.mark.parametrize("seed", [None, *TURNS])
def test_of_towers_as_high_the_larger_takes_the_gate(seed, noise_mm):
    # Roofs of 100 and 256 mm2 at one height: noise makes either the higher.
    base = bodies.cuboid((-30, 30), (-15, 15), (0, 10))
    small = bodies.cuboid((-20, -10), (-5, 5), (5, 30))
    large = bodies.cuboid((8, 24), (-8, 8), (5, 30))
    gate_mm, pitch_mm = gate_of(base + small + large, seed, noise_mm=noise_mm)
    # The middle of its roof, within a column or two.
    assert gate_mm[:2] == pytest.approx((16, 0), abs=2 * pitch_mm)


@pytest.mark.parametrize("seed", TURNS)
def test_gate_beside_a_hole_stands_where_the_part_has_it(seed):
    # A tower with a bore: every place round the rim is as near to the roof's middle. The
    # foot is longer one way and wider at that end, so that the part has axes of its own.
    foot = bodies.cuboid((-20, 40), (-15, 15), (0, 8)) + bodies.cuboid((30, 40), (-15, 22), (0, 8))
    tower = manifold3d.Manifold.cylinder(30, 12, 12, 96)
    bore = manifold3d.Manifold.cylinder(40, 6, 6, 96).translate((0, 0, -5))
    here_mm, pitch_mm = gate_of(foot + tower - bore, None)
    there_mm, _ = gate_of(foot + tower - bore, seed)
    # On the rim of the bore, and at the same place of it: within some columns.
    assert np.hypot(*there_mm[:2]) == pytest.approx(6.0, abs=3 * pitch_mm)
    assert there_mm == pytest.approx(here_mm, abs=6 * pitch_mm)


@pytest.mark.parametrize("off", [2e-16, 1e-12, 1e-5])
def test_noise_does_not_turn_the_columns(off):
    one = frames.turn_to((0.5 + off, 0.5, 0.7))
    two = frames.turn_to((0.5, 0.5 + off, 0.7))
    assert one == pytest.approx(two, abs=3 * off + 1e-12)


# -- what is said --------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def made():
    """A block on a foot that stands back: a clear draw, a clear parting, one kind of pocket."""
    foot = bodies.cuboid((8, 42), (0, 60), (0, 20))
    head = bodies.cuboid((0, 50), (0, 60), (20, 40))
    body = shapes.Body(*bodies.arrays(foot + head), 0, None, {})
    part = bodies_split.part_of(body)
    job = Job(draw=(0.0, 0.0, 1.0), parting_height_mm=0.0)
    draw = find_draw(part, job)
    return draw, bodies_split.split(part, draw.frame.rotation, job=job)


def told(draw, made, *, line=None, flex=None, ups=(10.0, 20.0)):
    options = [SimpleNamespace(cost_min=cost) for cost in ups]
    attitude = SimpleNamespace(options=options, is_asked_for=False)
    parts = {"line": line or made.line, "flex": flex or made.flex}
    split = bodies_split.handed_on(made, draw, **parts)
    found = list_even_findings(split, attitude, tie_mm3=made.tie_mm3)
    assert len(found) <= 1
    return str(found[0].message) if found else ""


def with_costs(line, costs, trapped=(0.0, 0.0, 0.0, 0.0), kind="level"):
    options = tuple(
        replace(option, cost_min=cost, trapped_mm3=mm3)
        for option, cost, mm3 in zip(line.options, costs, trapped, strict=True)
    )
    return replace(line, options=options, kind=kind, is_asked_for=False)


def test_clear_choices_are_not_talked_about(made):
    draw, split = made
    assert told(draw, split, line=with_costs(split.line, (0.0, 10.0, 20.0, 20.0))) == ""


def test_kinds_of_parting_that_cost_the_same_are_told(made):
    draw, split = made
    line = with_costs(split.line, (4.0, 12.0, 22.0, 3.0))
    message = told(draw, split, line=line)
    assert message.startswith("This flat parting and a shaped parting take the same effort")
    assert "plainer" in message


def test_a_plainer_parting_that_traps_hardly_more_is_told(made):
    draw, split = made
    costs, least = (0.0, 30.0, 60.0, 60.0), split.tie_mm3
    line = with_costs(split.line, costs, (0.9 * least, 0.9 * least, 0.0, 0.0), kind="stepped")
    assert "a flat parting do about the same" in told(draw, split, line=line)
    line = with_costs(split.line, costs, (9 * least, 9 * least, 0.0, 0.0), kind="stepped")
    assert "a flat parting" not in told(draw, split, line=line)


def test_pouring_positions_and_draws_that_cost_the_same_are_told(made):
    draw, split = made
    line = with_costs(split.line, (0.0, 10.0, 20.0, 20.0))
    assert "Another pouring position" in told(draw, split, line=line, ups=(10.0, 10.5))
    message = told(draw, split, line=line, ups=(10.0, 9.2, 10.0))
    assert message.startswith("2 other pouring positions take the same effort")
    only = draw.candidates[0]
    near = replace(only, cost_min=only.cost_min + 0.9 * margins.draw_margin_min(only.cost_min))
    beyond = replace(only, cost_min=only.cost_min + 1.1 * margins.draw_margin_min(only.cost_min))
    for other, n_told in ((near, 1), (beyond, 0)):
        both = replace(draw, candidates=(only, other), is_asked_for=False)
        message = told(both, split, line=line)
        assert message.count("Another draw direction takes the same effort") == n_told


def test_a_pocket_on_the_border_is_told(made):
    draw, split = made
    line = with_costs(split.line, (0.0, 10.0, 20.0, 20.0))
    for times, n_told in ((1.01, 1), (2.0, 0)):
        pockets = tuple(
            replace(p, verdict="may tear", stretch_fraction=times * p.allowed_fraction)
            for p in split.flex.pockets
        )
        flex = replace(split.flex, pockets=pockets)
        assert told(draw, split, line=line, flex=flex).count("on the border") == n_told
