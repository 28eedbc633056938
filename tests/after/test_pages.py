"""The pages after the pour: no text over another, none beside the page."""

from dataclasses import replace

import bodies
import shapes
from invented import DRILLING, TILT
from output.page_check import faults

from castplan.after.clearance import Setting, set_insert
from castplan.after.diagnose import diagnose
from castplan.after.remedy import best_tilt
from castplan.paper.sheet_clearance import clearance_pages
from castplan.paper.sheet_diagnosis import diagnosis_pages
from castplan.paper.sheet_revision import revision_pages
from castplan.paper.sheets import with_feet
from castplan.records import DEFECTS, CastLog, Change, Defect, LoggedPour, Revision, RockTilt


def test_a_diagnosis_of_every_defect_at_one_place(hook):
    defects = tuple(
        Defect(kind=kind, where_mm=(0.0, 80.0, 44.0), told="0,80,44", size_mm=3.0)
        for kind in DEFECTS
    )
    log = CastLog(lines=(LoggedPour(number=1, date="2026-12-01", defects=defects),))
    pages = diagnosis_pages(hook, log, diagnose(hook, log), ["Mould 1: one line."])
    assert len(pages) > 2
    assert faults(with_feet(pages, version="0")) == []


def test_a_change_sheet_with_everything_on_it(hook):
    long = "a sentence that is long enough to be wrapped over two lines of a narrow column, " * 2
    revision = Revision(
        number=3,
        changes=(Change(what="Vent 3", before=long, after=long, why=long),) * 5,
        drillings=(DRILLING, replace(DRILLING, label="4"), replace(DRILLING, label="5")),
        tilt=TILT,
        rocking=(RockTilt(tilt_deg=30.0, toward_deg=90.0),) * 2,
        rocking_left_ml=0.01,
        caught_before_ml=3.4,
        caught_after_ml=0.4,
        is_air_left=True,
        pitch_mm=0.38,
        patches=(long,) * 4,
        uses=(long,) * 4,
    )
    assert best_tilt(hook) is None  # nothing stays in it: the record above is made by hand
    pages = revision_pages(replace(hook, revision=revision))
    assert len(pages) > 1
    assert faults(with_feet(pages, version="0")) == []


def test_a_clearance_with_rings_at_one_place(hook):
    pin = shapes.part_of(*bodies.arrays(bodies.cuboid((-3, 3), (-3, 3), (-9, 9))))
    keeps = (("teeth", (-15, 40, 0), (15, 58, 20)), ("lip", (-7, 80, 30), (7, 90, 46)))
    found = set_insert(hook, pin, Setting(at_mm=(0, 47, 2.5), bed_mm=0.5, keeps=keeps))
    assert len(found.breaks) == 2
    assert faults(with_feet(clearance_pages(hook, found), version="0")) == []
