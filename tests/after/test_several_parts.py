"""After the pour of a box of several parts: which part a defect is on, and what that part's own
cavity has to do with it.

The parts are rows of posts, twice in one box; their sizes and volumes are closed forms of
`bodies`. Where a part lies in the box is read off the corners of the mesh that was planned.
"""

import bodies
import numpy as np
import pytest
import shapes
from output.greek import greek_catalogue
from output.left_english import latin

from castplan import texts
from castplan.after.boxed import in_box, in_file, keep_by_part, put_in_box
from castplan.after.cavity import cavity_of
from castplan.after.diagnose import diagnose
from castplan.after.revise import revise
from castplan.after.size_causes import drifts
from castplan.errors import InputError
from castplan.nest.room import lay_parts
from castplan.page import pours
from castplan.paper.sheet_diagnosis import diagnosis_pages
from castplan.planning import build_plan
from castplan.records import CastLog, Defect, Job, LoggedPour, PartResult, Size
from castplan.words.boxed import tally_lines
from castplan.words.cast import log_csv, log_lines
from castplan.words.diagnosis import diagnosis_lines, drift_lines, first_suspect
from castplan.words.revision import revision_lines

DAY = "2026-12-01"
COARSE = {"pitch_mm": 0.6, "n_directions": 8, "n_attitudes": 8}
# The lowest post, 6 x 6 x 8 mm, in the middle of x 0..15 and y 0..15 on a base of 5 mm.
LOW_POST_MM = (7.5, 7.5, 12.0)


def planned(body, n, **choices):
    part = shapes.part_of(body.vertices_mm, body.faces)
    box = lay_parts([part] * n, Job(**COARSE, **choices))
    return part, build_plan(box.part, box.job, nest=box.nest)


@pytest.fixture(scope="module")
def posts():
    """One part, and the plan of two of it with one vent each at most."""
    up = {"draw": (0.0, 0.0, 1.0), "up": (0.0, 0.0, 1.0)}
    return planned(bodies.posts(), 2, **up, max_vents=0, mould="two-part")


def log_of(*defects, **told):
    return CastLog(lines=(LoggedPour(number=1, date=DAY, defects=defects, **told),))


def own_points(plan, number):
    """Corners of one part of two in the box, in the order of its file."""
    n = len(plan.part.vertices_mm) // 2
    return plan.part.vertices_mm[n * (number - 1) : n * number]


def test_a_place_of_a_file_is_the_corner_of_the_mesh_in_the_box(posts):
    part, plan = posts
    for placed in plan.nest.parts:
        points = own_points(plan, placed.number)
        for own, there in zip(part.vertices_mm[::7], points[::7], strict=True):
            assert in_box(placed, own) == pytest.approx(tuple(there), abs=1e-9)
            assert in_file(placed, there) == pytest.approx(tuple(own), abs=1e-9)


def test_a_place_that_was_told_in_the_box_is_kept_in_the_file_of_its_part(posts):
    _, plan = posts
    where = in_box(plan.nest.parts[1], LOW_POST_MM)
    kept = keep_by_part(plan.nest, Defect(kind="void", where_mm=where))
    assert kept.part == 2
    assert kept.where_mm == pytest.approx(LOW_POST_MM)
    assert put_in_box(plan.nest, kept).where_mm == pytest.approx(where)
    # What an earlier log holds in the box's axes is found on its part all the same.
    assert put_in_box(plan.nest, Defect(kind="void", where_mm=where)).part == 2


def test_a_void_is_blamed_on_the_high_point_of_its_own_part(posts):
    _, plan = posts
    for number in (1, 2):
        log = log_of(Defect(kind="void", where_mm=LOW_POST_MM, part=number))
        (found,) = diagnose(plan, log).defects
        first = found.causes[0]
        assert first.code == "no-opening"
        peak = next(p for p in plan.air.openings.peaks if p.number == first.peak)
        place = plan.air.openings.frame.to_part(np.array(peak.place_mm))
        # The roof of that post stands 13 mm high in the file; the pitch is 0.6 mm.
        own = in_file(plan.nest.parts[number - 1], place)
        assert np.abs(np.subtract(own, (7.5, 7.5, 13.0))).max() <= 3.0 + 0.6
        assert f"on part {number}" in first_suspect(found)


def test_without_a_place_only_openings_and_high_points_of_the_part_are_named(posts):
    _, plan = posts
    for number in (1, 2):
        points = own_points(plan, number)
        low, high = points.min(axis=0), points.max(axis=0)
        found = diagnose(plan, log_of(Defect(kind="void", part=number))).defects[0]
        named = [cause for cause in found.causes if cause.peak is not None]
        assert len(named) >= 2
        for cause in named:
            peak = next(p for p in plan.air.openings.peaks if p.number == cause.peak)
            place = plan.air.openings.frame.to_part(np.array(peak.place_mm))
            assert (place > low - 0.6).all() and (place < high + 0.6).all()
            if cause.port is not None:
                assert cause.port in plan.nest.parts[number - 1].openings


def test_one_part_alone_came_out_short_because_the_others_were_poured_first(posts):
    _, plan = posts
    alone = diagnose(plan, log_of(Defect(kind="short-fill", part=2))).defects[0]
    assert alone.causes[0].code == "shared-badly"
    # A base of 60 x 15 x 5 mm and posts of 6 x 6 mm, 53 mm of them; the evidence has three digits.
    exact_ml = (60 * 15 * 5 + 36 * 53) / 1000
    assert alone.causes[0].evidence[0].value == pytest.approx(exact_ml, rel=0.005)
    both = log_of(*(Defect(kind="short-fill", part=number) for number in (1, 2)))
    for found in diagnose(plan, both).defects:
        assert found.causes[0].code != "shared-badly"


def test_the_same_part_twice_speaks_for_its_cavity(posts):
    _, plan = posts
    warps = [Defect(kind="flash", part=2), Defect(kind="flash", part=1)]
    lines = [LoggedPour(number=1, date=DAY, defects=(warps[0],))]
    lines += [LoggedPour(number=2, date=DAY, defects=tuple(warps))]
    found = diagnose(plan, CastLog(lines=tuple(lines)), line=2).defects
    told = [
        [
            number.value
            for cause in each.causes
            for number in cause.evidence
            if number.unit == "copies"
        ]
        for each in found
    ]
    assert told == [[1], []]


def test_a_revision_keeps_the_box_and_gives_the_vent_to_its_part(posts):
    _, plan = posts
    before = [part.openings for part in plan.nest.parts]
    revised = revise(plan, log_of(Defect(kind="void", where_mm=LOW_POST_MM, part=2, told="12,3")))
    (drilling,) = revised.revision.drillings
    after = [part.openings for part in revised.nest.parts]
    assert after == [before[0], (*before[1], drilling.label)]
    assert revised.nest.shared is plan.nest.shared
    own = in_file(revised.nest.parts[1], drilling.place_mm)
    assert own == pytest.approx((7.5, 7.5, 13.0), abs=0.6)
    new = revised.mould.block.ports[-1]
    fed = next(port for port in plan.mould.block.ports if port.label == before[1][0])
    assert (new.label, new.cavity) == (drilling.label, fed.cavity)
    # 6 x 6 x 8 mm of air, its edge off by a column.
    assert drilling.caught_before_ml == pytest.approx(6 * 6 * 8 / 1000, rel=0.06)
    said = "\n".join(revision_lines(revised))
    assert f"Vent {drilling.label} serves part 2" in said
    assert "part 2, 12,3" in said


def test_an_open_box_keeps_no_air_at_its_backs():
    # Frustums on their wide side: nothing lies over the open back of any of them.
    _, plan = planned(shapes.frustum(), 3, mould="open")
    assert plan.split.is_open
    assert cavity_of(plan).planned == ()


def test_each_cavity_wears_by_itself(posts):
    _, plan = posts
    lines = [
        LoggedPour(
            number=n,
            date=DAY,
            sizes=(
                Size(name="test x", length_mm=59.5 + 0.2 * n, error_mm=0.02, part=1),
                Size(name="test x", length_mm=59.5, error_mm=0.02, part=2),
            ),
            defects=tuple(Defect(kind="off-size", part=part) for part in (1, 2)),
        )
        for n in range(1, 6)
    ]
    log = CastLog(lines=tuple(lines))
    found = drifts(plan, log, "1")
    assert [(drift.part, drift.is_drifting) for drift in found] == [(1, True), (2, False)]
    assert found[0].per_cast_mm == pytest.approx(0.2)
    assert "test x of part 1" in drift_lines(found, "1")[0]
    codes = [{cause.code for cause in each.causes} for each in diagnose(plan, log, line=5).defects]
    assert ["drift" in each for each in codes] == [True, False]


def test_castings_are_counted_part_by_part(posts):
    _, plan = posts
    lines = (
        LoggedPour(number=1, date=DAY, parts=(PartResult(part=2, result="scrap"),)),
        LoggedPour(number=2, date=DAY, result="usable", defects=(Defect(kind="warp", part=2),)),
        LoggedPour(number=3, date=DAY, pour="upper", result="scrap"),
    )
    first, second = tally_lines(plan, CastLog(lines=lines))
    assert first == "Part 1 test: 2 castings (1 good, 1 usable, 0 scrap)."
    assert second.startswith("Part 2 test (2): 2 castings (0 good, 1 usable, 1 scrap).")
    assert second.endswith("a warp.")


def test_a_part_that_is_not_in_the_box_is_refused_in_one_line(posts):
    _, plan = posts
    with pytest.raises(InputError, match="part: found 3, need 1 to 2"):
        diagnose(plan, log_of(Defect(kind="void", part=3)))


def test_the_page_keeps_a_clicked_place_by_its_part(posts, tmp_path):
    _, plan = posts
    where = in_box(plan.nest.parts[1], LOW_POST_MM)
    told = {
        "date": DAY,
        "defects": [{"kind": "void", "where_mm": list(where)}, {"kind": "warp", "part": 1}],
        "parts": [{"part": 2, "result": "scrap"}],
    }
    log = pours.add_pour(tmp_path / "log", told, nest=plan.nest)
    kept = pours.log_of(tmp_path / "log").lines[0]
    assert (kept.defects[0].part, kept.defects[0].told) == (2, "7.5,7.5,12.0")
    assert kept.defects[0].where_mm == pytest.approx(LOW_POST_MM)
    said = pours.told_log(log, plan)
    assert [part["number"] for part in said["parts"]] == [1, 2]
    assert said["defects"][0]["where_mm"] == pytest.approx(where)
    assert "part 2 scrap" in said["lines"][0]["says"]
    assert len(said["tally"]) == 2
    with pytest.raises(InputError, match="part: found 4"):
        pours.add_pour(
            tmp_path / "log",
            {"date": DAY, "defects": [{"kind": "warp", "part": 4}]},
            nest=plan.nest,
        )
    assert len(pours.log_of(tmp_path / "log").lines) == 1


def test_the_table_names_the_part_before_its_place():
    log = log_of(
        Defect(kind="void", where_mm=(1.0, 2.0, 3.5), part=2, size_mm=3.0),
        Defect(kind="warp", part=3),
        sizes=(Size(name="catch x", length_mm=75.9, error_mm=0.05, part=2),),
        parts=(PartResult(part=2, result="scrap"),),
    )
    row = log_csv(log).decode().splitlines()[1]
    for cell in ("void@2/1,2,3.5=3; warp@3", "2/catch x=75.9+-0.05", "2=scrap"):
        assert cell in row


def test_all_that_is_said_of_a_box_comes_out_of_the_catalogue(posts):
    _, plan = posts
    defects = [
        Defect(kind="short-fill", part=2, where_mm=LOW_POST_MM, told="1,2", size_mm=3.0),
        Defect(kind="soft", part=1, size_mm=2.0),
        Defect(kind="void", where_mm=LOW_POST_MM, part=2, told="1,2"),
    ]
    sizes = (Size(name="test x", length_mm=59.5, error_mm=0.05, part=2),)
    log = log_of(*defects, sizes=sizes, parts=(PartResult(part=2, result="scrap"),))
    texts.use(greek_catalogue())
    try:
        found = diagnose(plan, log)
        pages = diagnosis_pages(plan, log, found, tally_lines(plan, log))
        said = [
            *log_lines(log),
            *diagnosis_lines(found, log),
            *tally_lines(plan, log),
            *revision_lines(revise(plan, log)),
            *(text.text for page in pages for text in page.texts),
        ]
    finally:
        texts.use({})
    known = frozenset({"deg", "um", "test", "x"})
    assert [text for text in said if latin(str(text), known)] == []
