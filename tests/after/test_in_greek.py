"""What is said after the pour comes out of the catalogue: in Greek letters no Latin word is left.

A catalogue in which every letter is Greek is spoken; a Latin word that is then
left is one that no translation could reach.

Counts are of the plans made here, by hand.
"""

from dataclasses import replace

import bodies
import pdfplumber
import pytest
import shapes
from invented import DRILLING, TILT
from output.greek import greek_catalogue
from output.left_english import latin

from castplan import texts
from castplan.after.case import Case
from castplan.after.cavity import cavity_of
from castplan.after.clearance import Setting, set_insert
from castplan.after.diagnose import QUESTIONS, SILICONE_QUESTIONS, diagnose
from castplan.after.learn import learn
from castplan.after.mend import patch_text, use_text
from castplan.after.revise import revise
from castplan.after.size_causes import drifts
from castplan.paper.sheet_clearance import clearance_pages
from castplan.paper.sheet_diagnosis import diagnosis_pages
from castplan.paper.sheet_health import VIEWS, write_health
from castplan.paper.sheet_revision import revision_pages
from castplan.part.health import examine
from castplan.part.sketch import draw_file_views
from castplan.records import (
    DEFECTS,
    RESULTS,
    Body,
    Breakthrough,
    CastLog,
    CompatLine,
    Defect,
    LoggedPour,
    RockTilt,
    Size,
    Withdrawal,
)
from castplan.words import cast as cast_view
from castplan.words import clearance as clearance_view
from castplan.words import diagnosis as diagnosis_view
from castplan.words import health as health_view
from castplan.words import learn as learn_view
from castplan.words import revision as revision_view

DAY = "2026-12-01"
RESIN, SILICONE = "polyurethane-fast-70d", "silicone-tin-25a"
# Names and codes of units: the same in every language.
OWN = frozenset({"deg", "um", *RESIN.split("-"), *SILICONE.split("-")}) | frozenset(
    {"coat", "hook", "peg", "test"}  # the part, its gauge, an insert
)


@pytest.fixture(autouse=True)
def greek():
    texts.use(greek_catalogue())
    yield
    texts.use({})


def left(told):
    """Texts with a Latin word in them."""
    return [text for text in map(str, told) if latin(text, OWN)]


def printed(pages):
    return [text for page in pages for text in (page.title, *(one.text for one in page.texts))]


def log_of(*pours):
    return CastLog(
        lines=tuple(
            LoggedPour(**{"date": DAY, "number": n} | values)
            for n, values in enumerate(pours, start=1)
        )
    )


def defects(*, where_mm=None):
    told = "" if where_mm is None else "0,80,44"
    return tuple(
        Defect(kind=kind, where_mm=where_mm, told=told, size_mm=None if where_mm is None else 3.0)
        for kind in DEFECTS
    )


ROUGH = {
    "lots": ("A1",),
    "a_g": 20.0,
    "b_g": 14.0,
    "scale_step_g": 5.0,
    "temperature_c": 12.0,
    "humidity_fraction": 0.8,
    "poured_min": 9.0,
    "opened_h": 0.2,
    "shot_g": 5.0,
    "pressure_bar": 4.0,
    "force_n": 90.0,
}
SHORT = tuple(Size(name=k, length_mm=v, error_mm=0.05) for k, v in (("x", 30.9), ("y", 93.0)))
LOGS = {
    "nothing known": log_of({"defects": defects()}),
    "all known": log_of(
        {"pour": "upper", "date": "2026-11-30", "pressure_bar": 0.0},
        ROUGH | {"defects": defects(where_mm=(0.0, 80.0, 44.0)), "is_degassed": False},
        ROUGH
        | {
            "defects": defects(where_mm=(0.0, 80.0, 44.0)),
            "is_degassed": True,
            "sizes": SHORT,
            "force_n": 150.0,
        },
    ),
    "sizes": log_of(
        *(
            {"sizes": (Size(name="peg", length_mm=19.9 - 0.05 * n, error_mm=0.001),)}
            for n in range(4)
        ),
        {
            "sizes": (Size(name="peg", length_mm=19.7, error_mm=0.001),),
            "defects": (Defect(kind="off-size"),),
        },
    ),
    "silicone": log_of(
        {"pour": "upper", "defects": defects(), "is_degassed": True},
        {"pour": "lower", "defects": defects(where_mm=(0.0, 80.0, 44.0)), "is_degassed": False},
    ),
}


@pytest.fixture(name="hook")
def hook_with_all_that_meets(hook):
    """The hook with every kind of thing that may stop the cure, in Greek."""
    lines = tuple(
        CompatLine(
            what=what,
            used="υλη",
            meets=meets,
            verdict="stop",
            reason="λογος",
            basis="from memory",
            source="πηγη",
        )
        for what in ("clay", "box", "release", "original", "paint", "gloves", "rubber", "resin")
        for meets in ("tin-cure", "platinum-cure", "polyurethane", "epoxy", "polyester")
    )
    return replace(hook, bench=replace(hook.bench, compat=replace(hook.bench.compat, lines=lines)))


def with_gate_alone(plan):
    """The plan without its vents."""
    return replace(
        plan,
        air=replace(plan.air, openings=replace(plan.air.openings, vents=())),
        mould=replace(
            plan.mould,
            block=replace(plan.mould.block, ports=plan.mould.block.ports[:1]),
            vents=replace(plan.mould.vents, routes=plan.mould.vents.routes[:1]),
        ),
    )


@pytest.mark.parametrize("name", LOGS)
def test_every_cause_can_be_translated(hook, name):
    log, found = LOGS[name], []
    for plan in (hook, with_gate_alone(hook)):
        cavity = cavity_of(plan)
        for pour in log.pours:
            questions = QUESTIONS if pour.pour == "copy" else SILICONE_QUESTIONS
            for defect in pour.defects:
                case = Case(plan=plan, log=log, pour=pour, defect=defect, cavity=cavity)
                found += [cause for ask in questions[defect.kind] for cause in ask(case)]
    told = [text for cause in found for text in (cause.text, cause.test)]
    told += [text for cause in found for text in diagnosis_view.evidence_texts(cause)]
    assert len({cause.code for cause in found}) >= {"sizes": 3, "silicone": 10}.get(name, 18)
    assert left(told) == []


@pytest.mark.parametrize("name", LOGS)
def test_a_diagnosis_can_be_translated(hook, name):
    log = LOGS[name]
    found = diagnose(hook, log)
    ages = diagnosis_view.life_lines(hook, log)
    ages += diagnosis_view.drift_lines(drifts(hook, log, "1"), "1")
    assert left(diagnosis_view.diagnosis_lines(found, log)) == []
    assert left(diagnosis_view.first_suspect(one) for one in found.defects) == []
    pages = diagnosis_pages(hook, log, found, ages)
    assert pages and left(printed(pages)) == []


def test_life_and_drift_can_be_translated(hook):
    told = diagnosis_view.diagnosis_lines(diagnose(hook, CastLog()), CastLog())
    for n in (9, 10, 20):
        told += diagnosis_view.life_lines(hook, log_of(*[{}] * n))
    told += diagnosis_view.life_lines(hook, log_of({"is_mould_done": True}))
    for lengths in ([19.9, 19.95, 19.88, 19.93], [19.98, 19.97, 19.96], [21.0, 20.9, 20.8]):
        pours = [{"sizes": (Size(name="peg", length_mm=v, error_mm=0.001),)} for v in lengths]
        told += diagnosis_view.drift_lines(drifts(hook, log_of(*pours), "1"), "1")
    assert len(told) == 8 and left(told) == []


def test_the_log_can_be_translated(hook):
    log = log_of(
        *({"result": result, "defects": defects()} for result in RESULTS),
        ROUGH | {"defects": defects(where_mm=(0.0, 80.0, 44.0)), "sizes": SHORT},
        {"defects": (Defect(kind="void", size_mm=2.0), Defect(kind="flash", told="0,80,44"))},
        {"pour": "upper", "is_mould_done": True},
        {"pour": "lower"},
    )
    log = CastLog(
        lines=(
            *log.lines,
            Withdrawal(number=8, of=1),
            Withdrawal(number=9, of=2, why="λαθος"),
        ),
        is_torn=True,
    )
    told = cast_view.log_lines(log) + cast_view.log_lines(CastLog())
    assert len(told) == 11 and left(told) == []


def test_a_change_sheet_can_be_translated(hook):
    gate_alone = with_gate_alone(hook)
    where = cavity_of(gate_alone).planned[0].top_mm
    log = log_of({"defects": (Defect(kind="void", where_mm=where, told="1,2,3"),)})
    drilled = revise(gate_alone, log)
    label = hook.mould.block.ports[1].label
    where = cavity_of(hook).without(label)[0].top_mm
    widened = revise(hook, log_of({"defects": (Defect(kind="void", where_mm=where),)}))
    assert drilled.revision.drillings and not widened.revision.drillings
    for plan in (drilled, widened, replace(hook, revision=every_way(drilled.revision))):
        assert left(revision_view.revision_lines(plan)) == []
        assert left(printed(revision_pages(plan))) == []


def every_way(revision):
    """A revision with all that one may tell."""
    drillings = [
        replace(DRILLING, face=face, half=half, across_deg=across)
        for face in ("top", "front", "back", "left", "right")
        for half in ("upper", "lower", "both")
        for across in (-15.0, 15.0)
    ]
    drillings += [replace(DRILLING, up_deg=-9.0), replace(DRILLING, across_deg=0.0, up_deg=0.0)]
    return replace(
        revision,
        drillings=tuple(drillings),
        tilt=TILT,
        rocking=tuple(RockTilt(tilt_deg=30.0, toward_deg=45.0 * k) for k in range(8)),
        rocking_left_ml=0.01,
        caught_after_ml=0.4,
        is_air_left=True,
    )


def test_mending_can_be_translated(hook):
    cavity = cavity_of(hook)
    pour = LoggedPour(number=1, date=DAY)
    wide = tuple(replace(one, size_mm=20.0) for one in defects())
    told = [
        patch_text(hook, pour, defect, cavity)
        for defect in (*defects(), *defects(where_mm=(0.0, 80.0, 44.0)), *wide)
    ]
    told = [text for text in told if text] + [use_text(kind) for kind in DEFECTS]
    assert len(told) == 3 * 8 + len(DEFECTS) and left(told) == []


def test_a_clearance_can_be_translated(hook):
    pin = shapes.part_of(*bodies.arrays(bodies.cuboid((-3, 3), (-3, 3), (-9, 9))))
    keeps = (("δοντια", (-15, 40, 0), (15, 58, 20)), ("χειλος", (-7, 80, 30), (7, 90, 46)))
    found = set_insert(
        hook, pin, Setting(at_mm=(0, 47, 2.5), bed_mm=0.5, keeps=keeps, turn_deg=(0, 0, 9))
    )
    break_ = Breakthrough(place_mm=(0, 0, 0), out_mm=1.0, volume_ml=0.1, mouth_mm2=4.0)
    others = [
        replace(found, breaks=(break_,), flush_mm2=3.0, bed_mm=bed_mm, least_wall_mm=1.0, wall=wall)
        for bed_mm in (0.0, 0.5)
        for wall in ("cut-through", "too-thin", "thin", "good")
    ]
    others += [replace(found, breaks=(), least_wall_mm=None, wall="none", turn_deg=(0.0, 0.0, 0.0))]
    for one in (found, *others):
        assert left(clearance_view.clearance_lines(one, hook)) == []
    assert left(printed(clearance_pages(hook, found))) == []


def test_learnt_numbers_can_be_translated(hook):
    copy = {
        "a_g": 75.0,
        "b_g": 67.5,
        "shot_g": 95.0,
        "thick_min": 2.0,
        "temperature_c": 33.0,
        "force_n": 20.0,
        "sizes": SHORT,
    }
    told = learn_view.learnt_lines([])
    for n in (1, 2, 4):
        for end in ({}, {"is_mould_done": True}):
            pours = [*[copy] * (n - 1), copy | end, {"mould": "2"}]
            found = list(learn([(hook, log_of(*pours))]))
            told += learn_view.learnt_lines(found)
            told += [one.offered.source for one in found if one.offered is not None]
    assert len(told) > 40 and left(told) == []


def test_the_state_of_a_mesh_can_be_translated(hook, tmp_path):
    part = hook.part
    sound, check = examine(part), part.check
    cut = examine(shapes.part_of(part.vertices_mm, part.faces[:-3]))
    assert cut.holes
    bodies_ = tuple(
        Body(kind=kind, n_triangles=12, volume_mm3=1.0, area_mm2=6.0, middle_mm=(0.0, 0.0, 0.0))
        for kind in ("part", "part", "speck", "inner shell", "inner shell", "void", "void")
    )
    ill = replace(
        cut,
        holes=cut.holes * 7,
        bodies=bodies_,
        n_crossing=3,
        n_zero_area=2,
        noise_mm=0.2,
    )
    checks = (
        check,
        replace(
            check,
            is_one_sided=True,
            is_winding_consistent=False,
            n_nonmanifold_edges=2,
            changes=("κλειστο",),
        ),
    )
    states = (sound, cut, ill, replace(ill, n_crossing=1, noise_mm=0.01, bodies=bodies_[1:4]))
    lines = [health_view.health_lines(one, state) for one in checks for state in states]
    assert left(text for told in lines for text in told) == []
    sketches = draw_file_views(part, tuple(VIEWS), has_noise=False)
    write_health(part, ill, sketches, lines[-1], tmp_path / "h.pdf", paper_name="A4")
    with pdfplumber.open(tmp_path / "h.pdf") as pages:
        text = " ".join(page.extract_text() or "" for page in pages.pages)
    assert texts.say("health.sheet") in text and left(text.split("\n")) == []


def test_a_latin_word_would_be_found(hook):
    assert left(["Στεπ 3: turn it over, 12 mm"]) == ["Στεπ 3: turn it over, 12 mm"]
    texts.use({})
    log = LOGS["all known"]
    assert left(diagnosis_view.diagnosis_lines(diagnose(hook, log), log))
