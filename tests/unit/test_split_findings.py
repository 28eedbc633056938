"""What the split asks of the shop: equal pockets once, and a parting by what it keeps.

Volumes and counts are of the body made here, worked by hand.
"""

import bodies
import bodies_split
import pytest
import shapes

from castplan.records import Job
from castplan.split.draw import find_draw
from castplan.split.findings import list_split_findings


def findings_of(body, **choices):
    """Findings of a body drawn along z, parted as asked for; the split too."""
    part = bodies_split.part_of(body)
    job = Job(draw=(0.0, 0.0, 1.0), **choices)
    draw = find_draw(part, job)
    made = bodies_split.split(part, draw.frame.rotation, job=job)
    split = bodies_split.handed_on(made, draw)
    found = list_split_findings(split, tie_mm3=made.tie_mm3)
    return made, found


def coded(found, code):
    return [finding for finding in found if finding.code == code]


def stepped_block(over_mm, *, length_mm=80.0):
    """A block 20 high on a foot of the same height that stands back by `over_mm`."""
    foot = bodies.cuboid((over_mm, 50 - over_mm), (0, length_mm), (0, 20))
    head = bodies.cuboid((0, 50), (0, length_mm), (20, 40))
    return shapes.Body(*bodies.arrays(foot + head), 0, None, {})


@pytest.mark.parametrize(
    ("over_mm", "severity"),
    # Either side of the foot keeps over x 80 x 20 mm3 where it is parted at its
    # sole: 0.2 ml, 38 ml.
    [(0.05, "note"), (12.0, "stop")],
)
def test_a_parting_by_hand_is_judged_by_what_it_keeps(over_mm, severity):
    made, found = findings_of(stepped_block(over_mm), parting_height_mm=0.0)
    (held,) = coded(found, "line-holds")
    assert held.severity == severity
    assert made.line.trapped_mm3 == pytest.approx(2 * over_mm * 80 * 20, rel=0.05)
    if severity == "stop":
        # Any height from 20 to 40 frees all; the place lies at the sole, 20 mm under that.
        assert "20.0 mm too low" in str(held.message)
        assert held.where_mm[2] == pytest.approx(0.0, abs=1e-6)
    assert ("Do not pour" in str(held.do)) == (severity == "stop")


def test_the_best_parting_is_not_blamed():
    _, found = findings_of(stepped_block(12.0))
    assert coded(found, "line-holds") == []


def gaps_block(n, *, depth_mm=1.1):
    """A block with n tooth gaps in its side, 2 x 6 mm, and a slot of 5 x 8 x 30."""
    solid = bodies.cuboid((0, 40), (0, 110), (0, 24))
    for k in range(n):
        solid -= bodies.cuboid((40 - depth_mm, 41), (4.0 + 8 * k, 10.0 + 8 * k), (11, 13))
    solid -= bodies.cuboid((-1, 5), (40, 70), (8, 16))
    return shapes.Body(*bodies.arrays(solid), 0, None, {})


def test_equal_pockets_are_one_finding():
    made, found = findings_of(gaps_block(12), silicone="silicone-platinum-40a")
    pockets = coded(found, "pocket")
    assert len(made.undercuts.pockets) == 13
    assert [len(group.numbers) for group in made.flex.groups] == [1, 12]
    # What the 12 are is told with their count, at the first of them or with the small.
    told = [f for f in found if "2 to 13" in str(f.message)]
    assert len(told) == 1 and len(pockets) <= 2


def test_small_easy_pockets_are_one_note():
    # Each over a ten-thousandth of the part, 10 mm3, under which nothing is listed.
    made, found = findings_of(gaps_block(12, depth_mm=1.0))
    small = [group for group in made.flex.groups if group.is_trifle]
    (note,) = coded(found, "small-pockets")
    assert note.severity == "note" and "2 to 13" in str(note.message)
    # 12 x 1.0 x 2 x 6 mm3; a column more or less along a mouth of 6 mm.
    assert sum(group.volume_mm3 for group in small) == pytest.approx(144, rel=0.15)
    assert len(coded(found, "pocket")) == 1
