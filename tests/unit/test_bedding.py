"""What the part lies in, by hand: heights of an invented box, whose rule is the shop's own.

No source but common practice: a part whose parting is its lowest face is stuck to the board.
"""

import pytest
from bench_steps import UP, is_in, place, port, route, steps_of
from output.neutral import filled

from castplan.mould.bedding import choose_bedding
from castplan.records import BEDDINGS, HolePlug, Job, PartingLine

# The box's inside from -12 to 38 mm; the part stands on 0.
BOX = {"ends_mm": (-12.0, 38.0), "upper_ml": 100.0}


def bedding_of(height_mm, *, kind="level", bed="clay", plugs=(), **changes):
    line = filled(PartingLine, kind=kind, box_height_mm=height_mm, plugs=plugs)
    return choose_bedding(line, Job(bed=bed), **(BOX | changes))


@pytest.mark.parametrize(
    ("height_mm", "kind", "bed", "expected"),
    [
        (0.0, "level", "clay", "flat-back"),
        (0.05, "level", "clay", "flat-back"),
        (0.2, "level", "clay", "clay"),
        (0.0, "following", "clay", "clay"),
        (0.0, "level", "printed", "printed-bed"),
        (10.0, "tilted", "printed", "printed-bed"),
    ],
)
def test_what_the_part_lies_in(height_mm, kind, bed, expected):
    bedding = bedding_of(height_mm, kind=kind, bed=bed)
    assert bedding.kind == expected and expected in BEDDINGS
    # Told from the board that the box stands on; a part with a flat back lies on it.
    is_flat = expected == "flat-back"
    assert bedding.board_mm == (0.0 if is_flat else -12.0)
    assert bedding.height_mm == (0.0 if is_flat else height_mm + 12.0)
    assert bedding.mark_mm == pytest.approx(38.0 - height_mm if is_flat else 50.0)


def test_a_lower_half_alone_stands_on_the_other_face():
    bedding = bedding_of(26.0, upper_ml=0.0)
    assert bedding.kind == "flat-back"
    assert (bedding.board_mm, bedding.mark_mm) == (26.0, 38.0)


def test_who_fills_the_holes():
    plugs = tuple(
        filled(HolePlug, number=number, height_mm=height_mm, is_following=follows)
        for number, height_mm, follows in ((1, 0.0, False), (2, 3.0, False), (3, 0.0, True))
    )
    flat = bedding_of(0.0, plugs=plugs)
    assert flat.shut_holes == (1,) and flat.clay_holes == (2, 3)
    clay = bedding_of(10.0, plugs=plugs)
    assert clay.shut_holes == () and clay.clay_holes == (1, 2, 3)
    printed = bedding_of(0.0, bed="printed", plugs=plugs)
    assert printed.shut_holes == printed.clay_holes == ()


def test_a_printed_bed_brings_keys_and_plugs():
    result = steps_of(parting_mm=0.0, job=Job(bed="printed"))
    assert is_in(result, "Glue the printed bed together") and is_in(
        result, "Take off the printed bed"
    )
    assert not is_in(result, "keys on the board") and not is_in(result, "Stick the original to")


def test_each_opening_is_set_before_its_own_pour():
    gate, vent, other = port("G", "gate"), port("1", "vent"), port("2", "vent")
    routes = (
        route(gate, pour="first", route="groove"),
        route(vent, pour="first"),
        route(other, pour="second", up=(0.0, 0.0, -1.0)),
    )
    result = steps_of(ports=(gate, vent, other), routes=routes)
    turn = place(result, "turn the box over")
    first, second = (step for step in result.steps if step.kind == "sticks")
    assert result.steps.index(first) < turn < result.steps.index(second)
    assert "into the clay to half its thickness" in str(first.text) and "gate G" in str(first.text)
    assert "vent 1" in str(first.text) and "vent 2" not in str(first.text)
    assert "vent 2" in str(second.text) and "vent 1" not in str(second.text)
    # On a board nothing can be pressed in.
    flat = steps_of(parting_mm=0.0, ports=(gate,), routes=routes[:1])
    assert is_in(flat, "stick it down on the flat") and not is_in(flat, "into the clay to half")


def test_the_rods_of_a_riser_lie_in_the_bed_whenever_its_stick_follows():
    gate = port("G", "gate")
    riser = route(gate, pour="second", route="riser", bore_mm=8.0, when="as drawn")
    result = steps_of(ports=(gate,), routes=(riser,))
    told = [str(step.text) for step in result.steps if step.kind == "sticks"]
    assert len(told) == 2 and all("Gate G is a riser of 8 mm" in text for text in told)


def test_what_leads_nowhere_gets_no_opening():
    vent = port("1", "vent", is_blocked=True)
    shut = route(vent, pour="", route="none", up=UP)
    result = steps_of(ports=(vent,), routes=(shut,))
    assert "Nothing can lead out from vent 1" in str(
        result.steps[place(result, "Mark parting line")].text
    )
    assert not is_in(result, "Pull the sticks")
