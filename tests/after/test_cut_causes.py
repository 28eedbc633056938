"""Defects of a mould that was cut open: what was done wrong is named first.

The places are chosen on the cut that the plan draws; which cause belongs to which place
is common practice, no source.
"""

from pathlib import Path

import pytest

from castplan.after.diagnose import diagnose
from castplan.part.load import load_part
from castplan.planning import build_plan
from castplan.records import CastLog, Defect, Job, LoggedPour

HOOK = Path(__file__).parents[2] / "sample_parts" / "coat_hook.stl"
DAY = "2026-12-01"


@pytest.fixture(scope="module")
def cut_hook():
    job = Job(
        mould="cut", draw=(1.0, 0.0, 0.0), pitch_mm=0.8, n_directions=8, n_attitudes=8
    )  # fmt: skip
    return build_plan(load_part(HOOK, unit="mm"), job)


def causes(plan, kind, at_mm=None):
    """The causes of one defect by their codes, the likeliest first."""
    where = None if at_mm is None else plan.split.draw.frame.point_in_part(at_mm)
    defect = Defect(kind=kind, where_mm=where, size_mm=None)
    log = CastLog(lines=(LoggedPour(number=1, date=DAY, defects=(defect,)),))
    return {cause.code: cause for cause in diagnose(plan, log).defects[0].causes}


def first(plan, kind, at_mm=None):
    return next(iter(causes(plan, kind, at_mm)))


def test_flash_along_the_cut_is_that_of_lips_that_gaped(cut_hook):
    (seam, *_) = cut_hook.mould.slit.seams_mm
    assert first(cut_hook, "flash", seam[len(seam) // 2]) == "lips-open"
    told = causes(cut_hook, "flash", seam[len(seam) // 2])
    assert not {"pushed-apart", "round-edge"} & set(told)


def test_flash_at_the_end_of_the_cut_is_a_tear(cut_hook):
    (seam, *_) = cut_hook.mould.slit.seams_mm
    assert cut_hook.mould.slit.outline_fraction < 1.0
    assert first(cut_hook, "flash", seam[0]) == "cut-torn-on"


def test_behind_the_hinge_there_is_no_cut_that_could_gape(cut_hook):
    slit = cut_hook.mould.slit
    outline = cut_hook.split.line.outlines[0].points_mm
    farthest = outline[(outline @ slit.way[:2]).argmin()]
    at_mm = (*farthest, cut_hook.split.line.box_height_mm)
    (seam, *_) = slit.seams_mm
    there = causes(cut_hook, "flash", at_mm)["lips-open"].weight
    assert there < 0.5 * causes(cut_hook, "flash", seam[len(seam) // 2])["lips-open"].weight


def test_a_step_is_a_tooth_off(cut_hook):
    told = causes(cut_hook, "step")
    assert next(iter(told)) == "lips-off"
    assert not {"keys", "turned"} & set(told)
