"""Trends, lives and shrinkage against closed forms and SciPy; texts the same everywhere."""

import numpy as np
import pdfplumber
import pytest
import trimesh
from scipy import stats

from castplan.after.case import near, over
from castplan.after.diagnose import QUESTIONS, diagnose
from castplan.after.size_causes import drifts
from castplan.errors import InputError
from castplan.materials.cards import any_card
from castplan.materials.cautions import load_cautions
from castplan.paper.sheet_diagnosis import write_diagnosis
from castplan.records import DEFECTS, CastLog, Defect, LoggedPour, Size
from castplan.words import diagnosis as diagnosis_view
from castplan.words.card import counter_sentence
from castplan.words.cautions import after_cautions

DAY = "2026-12-01"


def log_of(*pours):
    """A log of pours given by their values."""
    return CastLog(
        lines=tuple(
            LoggedPour(number=n, date=DAY, **values) for n, values in enumerate(pours, start=1)
        )
    )


def measured(lengths, *, name="peg", error_mm=0.001):
    return [{"sizes": (Size(name=name, length_mm=v, error_mm=error_mm),)} for v in lengths]


def test_weights_at_the_limit_and_beyond():
    assert over(2.0, limit=2.0) == 0.5 and over(4.0, limit=2.0) == pytest.approx(0.8)
    assert over(0.0, limit=2.0) == 0.0 and over(1.0, limit=0.0) == 1.0
    assert near(0.0, reach_mm=3.0) == 1.0 and near(9.0, reach_mm=3.0) < 0.02


def test_every_kind_of_defect_has_causes_with_a_test(hook):
    assert QUESTIONS.keys() == set(DEFECTS)
    log = log_of(*({"defects": (Defect(kind=kind),)} for kind in DEFECTS))
    found = diagnose(hook, log)
    assert [d.defect.kind for d in found.defects] == list(reversed(DEFECTS))
    for one in found.defects:
        assert one.causes and all(cause.test and cause.text for cause in one.causes)
        weights = [cause.weight for cause in one.causes]
        assert weights == sorted(weights, reverse=True) and max(weights) <= 1


def test_a_silicone_pour_is_asked_other_questions(hook):
    log = log_of(
        *({"pour": "upper", "defects": (Defect(kind=kind),)} for kind in DEFECTS),
        {"pour": "lower", "temperature_c": 12.0, "defects": (Defect(kind="soft"),)},
    )
    found = diagnose(hook, log)
    codes = {cause.code for one in found.defects for cause in one.causes}
    assert not codes & {"opening-shut", "no-opening", "moisture", "mould-age"}
    assert all(one.causes for one in found.defects)
    first = found.defects[0].causes[0]
    assert first.code == "opened-early" and "the silicone had not set" in str(first.text)


def test_only_pours_that_stand_are_diagnosed(hook):
    with pytest.raises(InputError, match="line of a pour that stands"):
        diagnose(hook, log_of({}), line=2)


def test_a_straight_drift_is_found_and_its_end_foretold(hook):
    # 20 mm +- 0.1: from 19.98 by 0.01 a cast down it leaves 19.9 at cast 9.
    (drift,) = drifts(hook, log_of(*measured(19.98 - 0.01 * np.arange(6))), "1")
    assert drift.per_cast_mm == pytest.approx(-0.01)
    assert drift.is_drifting and drift.leaves_at_cast in (8, 9)  # on the edge, to rounding


def test_a_trend_is_scipys(hook):
    rng = np.random.default_rng(11)
    lengths = 19.9 + 0.004 * np.arange(9) + rng.normal(0, 0.01, 9)
    (drift,) = drifts(hook, log_of(*measured(lengths, error_mm=1e-6)), "1")
    judge = stats.linregress(np.arange(1, 10), lengths)
    half = stats.t.ppf(0.975, 7) * judge.stderr
    assert drift.per_cast_mm == pytest.approx(judge.slope)
    assert (drift.low_mm, drift.high_mm) == pytest.approx((judge.slope - half, judge.slope + half))


def test_told_errors_widen_a_trend_that_looks_exact(hook):
    lengths = 19.98 - 0.001 * np.arange(4)
    sharp, blunt = (
        drifts(hook, log_of(*measured(lengths, error_mm=error)), "1")[0] for error in (0.0001, 0.05)
    )
    assert sharp.is_drifting and not blunt.is_drifting


def test_scatter_without_trend_is_no_drift(hook):
    (drift,) = drifts(hook, log_of(*measured([19.9, 19.95, 19.88, 19.93, 19.9])), "1")
    assert not drift.is_drifting
    assert "no drift" in diagnosis_view.drift_lines((drift,), "1")[0]
    assert drifts(hook, log_of(*measured([19.9, 19.8])), "1") == ()


def test_a_life_is_counted_and_its_end_said(hook):
    # The silicone's card plans 20 casts, 10 at the least: the mould card marks from the 11th.
    assert "From casting 11 on" in counter_sentence(hook)
    (early,) = diagnosis_view.life_lines(hook, log_of(*[{}] * 9))
    (late,) = diagnosis_view.life_lines(hook, log_of(*[{}] * 10))
    (over_it,) = diagnosis_view.life_lines(hook, log_of(*[{}] * 20))
    assert early.startswith("Mould 1: 9 of about 20")
    assert "soon" not in early and "ends soon" in late and "past its planned life" in over_it


def test_sizes_off_by_one_share_speak_for_scale_and_across_the_seam_for_a_gap(hook):
    # The hook is 30 x 96 x 46 mm and drawn along x. Off by 5 % all over, then by
    # 0.6 mm across the seam only, with 0.5 % of shrinkage elsewhere.
    sides = {"x": 30.0, "y": 96.0, "z": 46.0}

    def first(lengths):
        sizes = tuple(Size(name=k, length_mm=v, error_mm=0.05) for k, v in lengths.items())
        defect = Defect(kind="off-size")
        return diagnose(hook, log_of({"sizes": sizes, "defects": (defect,)})).defects[0].causes[0]

    assert first({k: 0.95 * v for k, v in sides.items()}).code == "scale"
    assert first({k: 0.994 * v for k, v in sides.items()}).code == "shrinkage"
    gaping = {k: 0.995 * v for k, v in sides.items()} | {"x": 30.0 * 0.995 + 0.6}
    cause = first(gaping)
    assert cause.code == "not-closed"
    assert cause.evidence[0].value == pytest.approx(0.6, abs=0.01)  # shown to three digits


def test_an_old_mould_tears_of_age_before_a_young_one(hook):
    torn = {"defects": (Defect(kind="torn-mould"),)}
    young = diagnose(hook, log_of(torn)).defects[0].causes
    old = diagnose(hook, log_of(*[{}] * 24, torn)).defects[0].causes
    assert old[0].code == "mould-age" != young[0].code


def test_pressure_over_a_mould_cured_without_it_explains_a_dimple(hook):
    silicone = {"pour": "upper", "pressure_bar": 0.0}
    copy = {"pressure_bar": 4.1, "defects": (Defect(kind="dimple"),)}
    assert diagnose(hook, log_of(silicone, copy)).defects[0].causes[0].code == "mould-bubbles"


def test_a_silicone_pour_logged_without_its_card_was_the_plans(hook):
    # As the page logs it: the day before, two parts of the same silicone.
    silicone = {"pour": "upper", "date": "2026-11-30"}
    copy = {"date": DAY, "defects": (Defect(kind="pinholes"),)}
    pours = [LoggedPour(number=n, **told) for n, told in enumerate((silicone, copy), start=1)]
    (found,) = diagnose(hook, CastLog(lines=tuple(pours))).defects
    fresh = next(cause for cause in found.causes if cause.code == "fresh-mould")
    days, cure = fresh.evidence
    assert days.value == 1
    assert cure.value == pytest.approx(any_card(hook.job.silicone).full_cure_h.value / 24, rel=0.01)


def built_seam(plan):
    """Where trimesh cuts the part by the level at which its parting was built, part frame."""
    frame, line = plan.split.draw.frame, plan.split.line
    assert line.kind == "level"
    body = trimesh.Trimesh(frame.to_frame(plan.part.vertices_mm), plan.part.faces, process=False)
    # Off the level by a micrometre, should a flat lie in it.
    cut = body.section(plane_origin=(0, 0, line.plane[0] + 1e-3), plane_normal=(0, 0, 1))
    return frame.to_part(np.asarray(cut.vertices))


def test_the_distance_from_a_clicked_place_has_no_false_digits(hook):
    where = tuple(float(v) for v in np.add(built_seam(hook)[0], (2.345, 1.234, 0.567)))
    (found,) = diagnose(hook, log_of({"defects": (Defect(kind="flash", where_mm=where),)})).defects
    away = [
        n
        for cause in found.causes
        for n in cause.evidence
        if "from the parting line" in str(n.source)
    ]
    # To whole millimetres: a ring on a copy's edge is not hit nearer.
    assert away and all(n.value == round(n.value) for n in away)


def test_flash_away_from_the_seam_is_torn_rubber(hook):
    seam = built_seam(hook)
    corners = hook.part.vertices_mm
    apart = np.linalg.norm(corners[:, None] - seam[None], axis=2).min(axis=1)
    assert apart.max() > 10
    away = Defect(kind="flash", where_mm=tuple(float(v) for v in corners[np.argmax(apart)]))
    assert diagnose(hook, log_of({"defects": (away,)})).defects[0].causes[0].code == "torn-rubber"


def test_flash_anywhere_on_the_line_as_built_is_no_tear(hook):
    # The seam that was expected lies up to 19 mm away from it.
    for place in built_seam(hook)[::7]:
        there = Defect(kind="flash", where_mm=tuple(float(v) for v in place))
        causes = diagnose(hook, log_of({"defects": (there,)})).defects[0].causes
        assert "torn-rubber" not in {cause.code for cause in causes}


def test_terminal_and_sheet_say_the_same(hook, tmp_path):
    log = log_of({"defects": (Defect(kind="void", where_mm=(0.0, 80.0, 46.0), told="top"),)})
    found = diagnose(hook, log)
    write_diagnosis(hook, log, found, ["Mould 1: one line."], tmp_path / "d.pdf")
    with pdfplumber.open(tmp_path / "d.pdf") as pages:
        printed = " ".join((page.extract_text() or "") for page in pages.pages)
    printed = " ".join(printed.split())
    assert "Mould 1: one line." in printed
    # The cautions of casting and trimming a copy come with what is to be tried.
    keys = {caution.key for caution in after_cautions(hook, ("vacuum",))}
    assert {"isocyanate", "dust", "vacuum"} <= keys and "silicone-tin" not in keys
    assert "Take care" in printed and str(load_cautions()["isocyanate"].title) in printed
    for cause in found.defects[0].causes:
        assert str(cause.text) in printed and str(cause.test) in printed
    told = diagnosis_view.diagnosis_lines(found, log)
    assert told[1].endswith(str(found.defects[0].causes[0].text))
