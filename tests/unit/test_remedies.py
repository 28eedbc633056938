"""What to do about a pocket that holds: known ways out, and none where there is none.

Minutes are worked by hand from the job's weights, which are assumed.
"""

import dataclasses

import bodies
import bodies_split
import numpy as np
import pytest
import shapes

from castplan.records import Job
from castplan.split.draw import find_draw
from castplan.split.remedies import find_remedies


def remedies_for(body, rotation=bodies.ALONG["z"], *, others=()):
    """(split, remedies by pocket) of a body drawn along a frame's third row."""
    part = bodies_split.part_of(body)
    made = bodies_split.split(part, rotation)
    draws = [find_draw(part, Job(draw=tuple(way))) for way in (made.frame.up, *others)]
    candidates = tuple(draw.candidates[0] for draw in draws)
    draw = dataclasses.replace(draws[0], candidates=candidates)
    found = find_remedies(part, draw, made.pockets, made.flex)
    by_pocket = {}
    for remedy in found:
        by_pocket.setdefault(remedy.pocket, []).append(remedy)
    return made, by_pocket


def one(remedies, kind):
    (found,) = [remedy for remedy in remedies if remedy.kind == kind]
    return found


@pytest.mark.parametrize(
    ("body", "way"),
    [
        (shapes.t_slot(), (0, 1, 0)),  # along the slot
        (bodies.bored_block(), (1, 0, 0)),  # out of the bore, not into it
        (bodies_split.bored_rod(n_sides=64), (1, 0, 0)),  # either way through the rod
    ],
)
def test_loose_piece_comes_out_the_way_it_must(body, way):
    made, by_pocket = remedies_for(body)
    # Both flanks of the slot are alike: one set of remedies for the two.
    assert sorted(by_pocket) == [group.numbers[0] for group in made.flex.groups]
    for number, remedies in by_pocket.items():
        piece = one(remedies, "loose piece")
        assert piece.remaining_mm3 == 0
        along = float(np.dot(piece.direction, way))
        if body.trapped_mm3 == bodies.bored_block().trapped_mm3:
            assert along > np.cos(np.radians(3))
        elif number == 1 and way[1] == 0:
            assert abs(along) > np.cos(np.radians(3))
        # Truth for the others: the points of the pocket, moved that way, stay
        # out of the part (checked below for all).


@pytest.mark.parametrize("body", [shapes.t_slot(), shapes.dovetail(), bodies.bored_block()])
def test_loose_piece_meets_nothing_on_its_way(body):
    # Truth: manifold3d. The pocket's middle column, as a thin rod along the pull,
    # does not meet the part.
    made, by_pocket = remedies_for(body)
    solid = bodies.solid_of(body.vertices_mm, body.faces)
    # The way that is told is that of the first of those alike.
    for pocket in (p for p in made.undercuts.pockets if p.number in by_pocket):
        piece = one(by_pocket[pocket.number], "loose piece")
        start = np.array(pocket.centre_mm)
        far = start + 200 * np.array(piece.direction)
        assert solid.ray_cast(tuple(start), tuple(far)) == []


def test_clay_fill_is_the_pockets_volume_and_leaves_nothing():
    made, by_pocket = remedies_for(shapes.cross_hole_plate())
    (pocket,) = made.undercuts.pockets
    fill = one(by_pocket[1], "clay fill")
    assert fill.remaining_mm3 == 0
    assert f"{pocket.volume_mm3 / 1000:.2g} ml" in str(fill.text)
    # Closed form of the hole, 30 long, an n-gon of radius 8.
    assert pocket.volume_mm3 == pytest.approx(shapes.polygon_factor(48) * 64 * 30, rel=5e-3)


def test_another_draw_is_offered_only_if_it_holds_less():
    slot = shapes.t_slot()
    _, freed = remedies_for(slot, others=[(0, 1, 0)])
    other = one(freed[1], "other draw")
    assert other.remaining_mm3 == pytest.approx(0, abs=1e-6)
    assert abs(other.direction[1]) == pytest.approx(1)
    _, worse = remedies_for(slot, others=[(1, 0, 0)])  # traps more than twice as much
    assert [r for r in worse[1] if r.kind == "other draw"] == []


def test_remedies_that_leave_nothing_come_first_then_by_minutes():
    _, by_pocket = remedies_for(shapes.t_slot(), others=[(0, 1, 0)])
    for remedies in by_pocket.values():
        keys = [(remedy.remaining_mm3 > 0, remedy.minutes) for remedy in remedies]
        assert keys == sorted(keys)
        assert {remedy.kind for remedy in remedies} >= {"loose piece", "clay fill", "cut"}


def test_nothing_is_offered_where_all_leaves():
    _, by_pocket = remedies_for(shapes.lipped_cup(bore_mm=16, lip_mm=15.5))
    assert by_pocket == {}


def test_ring_of_rubber_in_a_closed_channel_has_no_way_out_in_one_piece():
    # The channel under a lip all round: whichever way it is pulled, some of it
    # meets the wall. No loose piece comes out whole.
    _, by_pocket = remedies_for(bodies_split.nested_cups(4.0))
    for remedies in by_pocket.values():
        for remedy in remedies:
            if remedy.kind == "loose piece":
                assert remedy.remaining_mm3 > 0


def test_pockets_that_are_alike_have_one_set_for_all_of_them():
    made, by_pocket = remedies_for(shapes.t_slot())
    (remedies,) = by_pocket.values()
    both_mm3 = sum(pocket.volume_mm3 for pocket in made.undercuts.pockets)
    assert len(made.undercuts.pockets) == 2
    assert {remedy.n_pockets for remedy in remedies} == {2}
    fill = one(remedies, "clay fill")
    assert f"{both_mm3 / 1000:.2g} ml together" in str(fill.text)
    # Minutes of the first are those of one, twice over.
    assert fill.minutes == pytest.approx(2 * 15 + 10 * both_mm3 / 1000)
    assert one(remedies, "cut").minutes == 20
