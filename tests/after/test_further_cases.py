"""Further cases, written down before they were run: what was done wrong, and what it does.

Of 25 the first run named 22 as written. "Eight grams mixed" was a fault and was mended;
two were written wrongly: sulphur without asking the table of what meets what anew, and
halves of a two-part mould that "were not closed", which is a cause of cut ones only.
None of the others helped to set a weight. Where a case rests on a rule of the trade it
is common practice, no source; the rest follows from what the log says against the card.
"""

from dataclasses import replace

import numpy as np
import pytest

from castplan.after.diagnose import diagnose
from castplan.bench.compat import check_compat
from castplan.records import CastLog, Defect, LoggedPour, Shop, Size

DAY = "2027-02-20"
OLD = ({"date": "2027-01-20", "pour": "upper"}, {"date": "2027-01-21", "pour": "lower"})
# A day on which nothing was wrong: an old mould, a dry shop, the ratio of the card.
GOOD = {
    "temperature_c": 23.0,
    "humidity_fraction": 0.4,
    "a_g": 52.6,
    "b_g": 47.4,
    "scale_step_g": 0.1,
    "poured_min": 1.2,
    "opened_h": 2.0,
    "is_degassed": True,
    "pressure_bar": 0.0,
}


def good(**other):
    return {**GOOD, **other}


def places(plan):
    """Places that cases tell of, part frame."""
    draw = plan.split.draw.frame
    rim = plan.split.line.outlines[0]
    on_line = np.array([*rim.points_mm[0], rim.line_mm[0]])
    far = draw.to_frame(plan.part.vertices_mm)
    heights = np.abs(far[:, 2] - rim.line_mm.mean())
    return {
        "parting": draw.to_part(on_line),
        "far from the parting": plan.part.vertices_mm[int(np.argmax(heights))],
        "vent": plan.air.openings.frame.to_part(
            np.array(next(p for p in plan.mould.block.ports if p.label == "1").place_mm)
        ),
        "thick": np.array(plan.bench.heat.thickest_at_mm),
    }


def first(plan, kind, *, at=None, size_mm=None, before=OLD, pour="copy", sizes=(), **values):
    """The cause named first for one defect of the last of some pours."""
    where = None if at is None else tuple(float(v) for v in places(plan)[at])
    defect = Defect(kind=kind, where_mm=where, size_mm=size_mm)
    told = (*before, {"date": DAY, "pour": pour, "defects": (defect,), "sizes": sizes, **values})
    pours = tuple(LoggedPour(number=n, **one) for n, one in enumerate(told, start=1))
    return diagnose(plan, CastLog(lines=pours)).defects[0].causes[0].code


def casts(n, **values):
    """So many good castings of an old mould."""
    return (*OLD, *({"date": "2027-02-01", **GOOD, **values} for _ in range(n)))


def bad_lot(kind):
    """Three pours of one lot with the defect, three of another without it."""
    bad = {"lots": ("B7",), "defects": (Defect(kind=kind),)}
    return (*OLD, *({"date": "2027-02-01", **GOOD, **bad} for _ in range(3)), *casts(3)[2:])


def peg(length_mm):
    return (Size(name="peg", length_mm=length_mm, error_mm=0.02),)


# The fast urethane: pot life 3 min and out after half an hour at 23 C, 100:90, shrinks
# 0.15 %; the tin silicone is poured 100:10 or the like and out after its card's hours.
CASES = {
    "a wet day": ("pinholes", good(humidity_fraction=0.75), "moisture"),
    "a dry day, whipped and not degassed": ("pinholes", good(is_degassed=False), "bubbles"),
    "one lot foams, the other does not": (
        "pinholes",
        good(lots=("B7",), before=bad_lot("pinholes")),
        "lot",
    ),
    "a wet day, two weeks after the mould": (
        "pinholes",
        good(humidity_fraction=0.7, before=({**OLD[0], "date": "2027-02-06"},)),
        "moisture",
    ),
    "opened after nine minutes in the cold": (
        "soft",
        good(temperature_c=15.0, opened_h=0.15),
        "opened-early",
    ),
    "one soft patch, all weighed and waited right": (
        "soft",
        good(at="thick", size_mm=10.0),
        "streaks",
    ),
    "eight grams mixed": ("soft", good(a_g=4.2, b_g=3.8), "small-mix"),
    "parts A and B swapped": ("soft", good(a_g=47.4, b_g=52.6), "ratio"),
    "hot day, but poured well within it": (
        "short-fill",
        good(at="vent", temperature_c=30.0, poured_min=0.8),
        "opening-shut",
    ),
    "fifteen grams in the cup": ("short-fill", good(a_g=7.9, b_g=7.1), "ran-short"),
    "slow hands": ("short-fill", good(poured_min=3.4), "gelled"),
    "a fin on the parting of a worn mould": (
        "flash",
        good(at="parting", before=casts(30)),
        "mould-age",
    ),
    "a fin far from the parting": ("flash", good(at="far from the parting"), "torn-rubber"),
    "a fin on the parting of a new mould": ("flash", good(at="parting"), "pushed-apart"),
    "a little step at the parting": ("step", good(at="parting", size_mm=0.4), "keys"),
    "opened hot and bent": ("warp", good(opened_h=0.1), "opened-early"),
    "left at 65 C and bent": ("warp", good(temperature_c=65.0), "hot-cure"),
    "shrinks more than the card says": ("off-size", good(sizes=peg(19.85)), "shrinkage"),
    "five percent too large": ("off-size", good(sizes=peg(21.0)), "scale"),
    "a dent in the thickest place": ("dimple", good(at="thick", size_mm=6.0), "sink"),
    "torn at the fortieth": ("torn-mould", good(before=casts(39)), "mould-age"),
    "silicone with half its catalyst": (
        "soft",
        dict(pour="upper", before=(), temperature_c=23.0, a_g=200.0, b_g=4.0, scale_step_g=0.1),
        "ratio",
    ),
    "silicone opened after four hours in the cold": (
        "soft",
        dict(pour="lower", before=(), temperature_c=14.0, opened_h=4.0),
        "opened-early",
    ),
    "silicone full of small holes, not degassed": (
        "pinholes",
        dict(pour="upper", before=(), is_degassed=False),
        "mixing-air",
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_the_first_cause_is_the_one_that_was_made(hook, case):
    kind, told, code = CASES[case]
    assert first(hook, kind, **told) == code


def test_sulphur_clay_under_platinum_silicone(hook):
    # Sulphur stops a platinum cure: named by published data sheets of the class.
    shop = Shop(uses=(("clay", "sulphur"),))
    job = replace(hook.job, silicone="silicone-platinum-20a", shop=shop)
    told = dict(pour="upper", before=(), material="silicone-platinum-20a", temperature_c=23.0)
    bench = replace(hook.bench, compat=check_compat(job))
    assert first(replace(hook, job=job, bench=bench), "soft", **told) == "chemistry"
