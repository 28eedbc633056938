"""What a chemistry changes in numbers and steps: life, size, pigment, heat, how it is mixed.

Numbers of the cards are from memory or of data sheets, as evidence.toml and the cards say;
what is held here is what follows from them, by closed forms.
"""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
import trimesh
from bench_steps import place, steps_of
from output.neutral import filled

from castplan.bench.compat import check_compat
from castplan.bench.fit import list_shares, predict_fit, shrink
from castplan.bench.heat import find_heat
from castplan.bench.material_findings import list_material_findings
from castplan.errors import InputError
from castplan.materials.cards import class_cards, get_card
from castplan.materials.chemistries import chemistry_of, life_with, load_chemistries
from castplan.materials.sheet import card_or_problems
from castplan.materials.sheet_entries import CHEMISTRIES
from castplan.records import (
    BASES,
    DrawResult,
    Frame,
    Gauge,
    Job,
    MeshCheck,
    Part,
    WeighResult,
)

CARDS = class_cards()
SILICONES = [name for name, card in CARDS.items() if card.kind == "silicone"]
RESINS = [name for name, card in CARDS.items() if card.kind == "resin"]


def said(resin, kind, silicone="silicone-platinum-20a"):
    """All sentences of the steps of a kind."""
    steps = steps_of(job=Job(silicone=silicone, resin=resin)).steps
    return " ".join(str(step.text) for step in steps if step.kind == kind)


@pytest.mark.parametrize("name", load_chemistries())
def test_every_number_has_basis_and_lies_in_its_range(name):
    chemistry = load_chemistries()[name]
    numbers = [getattr(chemistry, entry) for entry in chemistry.__dataclass_fields__]
    for number in numbers:
        if number is None or isinstance(number, bool):
            continue
        assert number.basis in BASES and str(number.source)
        assert number.low is None or number.low <= number.value <= number.high
    assert name in CHEMISTRIES
    assert chemistry.closed_months is None or chemistry.opened_months.value <= (
        chemistry.closed_months.value
    )


def test_every_chemistry_says_what_it_asks():
    assert set(load_chemistries()) == set(CHEMISTRIES)
    for card in CARDS.values():
        asked = chemistry_of(card)
        if card.kind == "resin":
            assert asked.life_share is not None and asked.most_pigment_fraction is not None
        else:
            assert asked.library_years is not None


@pytest.mark.parametrize(("silicone", "resin"), list(product(SILICONES, RESINS)))
def test_every_pair_of_classes_gets_its_steps(silicone, resin):
    job = Job(silicone=silicone, resin=resin)
    steps = steps_of(job=job).steps
    assert {"weigh", "pour", "mix", "cast", "out", "measure"} <= {step.kind for step in steps}
    assert check_compat(job).lines[0].what == "resin"
    life = life_with(get_card(silicone, kind="silicone"), get_card(resin, kind="resin"))
    assert 1 <= life.low <= life.value <= life.high
    assert f"about {life.value:.0f} castings" in said(resin, "measure", silicone)


# -- life of the mould ----------------------------------------------------------------


def test_life_is_that_of_polyurethane_times_the_share():
    """Closed form: value times value, low times low, high times high, to whole castings."""
    silicone = CARDS["silicone-tin-25a"]
    base, share = silicone.mould_life_casts, load_chemistries()["polyester"].life_share
    life = life_with(silicone, CARDS["polyester-casting"])
    assert life.value == round(base.value * share.value)
    assert (life.low, life.high) == (round(base.low * share.low), round(base.high * share.high))
    assert life_with(silicone, CARDS["polyurethane-fast-70d"]) == base


def test_what_a_shop_counted_itself_stands():
    own = replace(CARDS["silicone-tin-25a"], origin="shop")
    assert life_with(own, CARDS["polyester-casting"]) == own.mould_life_casts
    none = replace(own, mould_life_casts=None)
    assert life_with(none, CARDS["polyester-casting"]) is None


# -- size ---------------------------------------------------------------------------


def part_and_heat(thick_mm, resin):
    mesh = trimesh.creation.box((60.0, 60.0, thick_mm))
    part = filled(
        Part,
        name="plate",
        vertices_mm=np.asarray(mesh.vertices, float),
        faces=np.asarray(mesh.faces, np.int32),
        check=filled(
            MeshCheck,
            extent_mm=tuple(float(v) for v in mesh.extents),
            volume_mm3=float(mesh.volume),
        ),
    )
    draw = filled(DrawResult, frame=Frame(rotation=np.eye(3)))
    return find_heat(part, draw, filled(WeighResult), Job(resin=resin))


def test_a_thick_casting_shrinks_by_what_it_cools():
    """Expansion times the difference to a thin wall, closed form; half of it as nominal."""
    silicone, resin = CARDS["silicone-platinum-20a"], CARDS["polyurethane-fast-70d"]
    heat = part_and_heat(30.0, resin.card_id)
    (share,) = [s for s in list_shares(silicone, resin, heat) if s.code == "heat"]
    hotter_c = heat.peak_c.value - heat.thin_c.value
    assert share.fraction.value == pytest.approx(0.5 * 0.00008 * hotter_c, rel=1e-9)
    assert share.fraction.low == 0.0
    most_c = heat.peak_c.high - heat.thin_c.high
    assert share.fraction.high == pytest.approx(0.00009 * most_c, rel=1e-9)
    assert hotter_c > 30.0  # 30 mm keep most of the heat that 3 mm lose


def test_the_interval_of_the_size_grows_with_the_section():
    silicone, resin = CARDS["silicone-platinum-20a"], CARDS["polyurethane-fast-70d"]
    widths = []
    for thick_mm in (3.0, 12.0, 40.0):
        heat = part_and_heat(thick_mm, resin.card_id)
        _, low, high = shrink(list_shares(silicone, resin, heat))
        widths.append(high - low)
    cold = shrink(list_shares(silicone, resin))
    assert widths[0] == pytest.approx(cold[2] - cold[1], abs=2e-4)  # 3 mm sampled at 0.6 mm
    assert widths[0] < widths[1] < widths[2]


def test_plaster_grows():
    """Set plaster grows by 0.19 to 0.22 % (evidence.toml); the mould's 0.1 % comes off."""
    part = filled(Part, check=filled(MeshCheck, extent_mm=(100.0, 50.0, 20.0)))
    job = Job(
        silicone="silicone-platinum-20a",
        resin="plaster-casting",
        gauges=(Gauge(name="rim", length_mm=100.0),),
    )
    *_, line = predict_fit(part, job).lines
    assert line.copy_mm == pytest.approx(100.0 * 0.999 * 1.002, rel=1e-12)
    assert line.high_mm == pytest.approx(100.0 * 1.0022, rel=1e-12)


def test_styrene_swells_the_mould_either_way():
    shares = list_shares(CARDS["silicone-tin-25a"], CARDS["polyester-casting"])
    (swelling,) = [share.fraction for share in shares if share.code == "swelling"]
    assert swelling.value == 0.0 and swelling.low == -swelling.high < 0
    assert "swells silicone" in said("polyester-casting", "measure")
    assert "swells" not in said("epoxy-slow-80d", "measure")


def test_tin_cure_goes_on_shrinking_and_platinum_does_not():
    assert load_chemistries()["tin-cure"].later_shrinkage_fraction.high == 0.008
    assert load_chemistries()["platinum-cure"].later_shrinkage_fraction is None


# -- what is poured -------------------------------------------------------------------


@pytest.mark.parametrize("name", ["pewter", "low-melt-metal", "tin-alloy", "solder"])
def test_metal_is_refused_with_the_reason(name):
    with pytest.raises(InputError, match="plans no castings of metal: even low-melt alloys"):
        get_card(name, kind="resin")
    with pytest.raises(InputError, match="need one of silicone-tin-25a"):
        get_card(name, kind="silicone")


@pytest.mark.parametrize("silicone", SILICONES)
def test_water_clear_polyurethane_does_not_set_in_tin(silicone):
    """Sticky against tin-cure silicone: common practice, no source."""
    job = Job(silicone=silicone, resin="polyurethane-clear-82d")
    verdict = check_compat(job).lines[0].verdict
    assert verdict == ("stop" if "-tin-" in silicone else "patch")


def test_pigment_is_limited_by_chemistry():
    """Three percent in polyurethane, five in epoxy, one in wax (from memory)."""
    for resin, usual in (
        ("polyurethane-fast-70d", 0.03),
        ("epoxy-slow-80d", 0.05),
        ("wax-casting", 0.01),
    ):
        for share, n in ((usual, 0), (usual + 0.001, 1)):
            job = Job(silicone="silicone-platinum-20a", resin=resin, pigment_fraction=share)
            found = [each for each in list_material_findings(job) if each.code == "much-pigment"]
            assert len(found) == n


def test_hot_wax_waits_for_a_tin_mould_to_age():
    job = Job(silicone="silicone-tin-25a", resin="wax-casting")
    assert [each.code for each in list_material_findings(job)] == ["hot-pour"]
    assert list_material_findings(replace(job, silicone="silicone-platinum-20a")) == ()
    assert list_material_findings(Job()) == ()


# -- what a step says -------------------------------------------------------------------


def test_wax_is_molten_and_not_mixed():
    assert "water bath" in said("wax-casting", "mix")
    cast = said("wax-casting", "cast")
    assert "at about 75 C" in cast and "A and B" not in cast
    assert "half its pot life" in said("polyurethane-fast-70d", "cast")


@pytest.mark.parametrize("resin", ["plaster-casting", "wax-casting"])
def test_no_pressure_on_what_does_not_cure(resin):
    assert "under pressure" not in said(resin, "cast")
    assert "under pressure" in said("epoxy-slow-80d", "cast")


def test_plaster_is_sifted_into_water():
    assert "Sift A into B" in said("plaster-casting", "mix")
    assert "do not whip in air" not in said("plaster-casting", "mix")


def test_the_post_cure_stands_where_the_casting_comes_out():
    told = said("polyurethane-heat-82d", "out")
    card = CARDS["polyurethane-heat-82d"]
    assert f"slowly to {card.post_cure_c.value:g} C, 4 h in all" in told
    assert f"from about {card.plain_limit_c.value:g} C, with it from about 95 C" in told
    assert card.plain_limit_c.high < card.heat_limit_c.low
    # What it buys ends at the deflection temperature, 100 C on the sheet (evidence.toml).
    assert card.heat_limit_c.high <= card.deflection_c.value == 100.0
    result = steps_of(job=Job(resin=card.card_id))
    assert "after-cure" in result.steps[place(result, "Then post-cure it")].cautions
    assert "post-cure" not in said("polyurethane-fast-70d", "out")


def test_tins_are_closed_and_only_isocyanate_under_gas():
    assert "dry gas" in said("polyurethane-fast-70d", "mix")
    assert "dry gas" not in said("epoxy-slow-80d", "mix")
    assert "keep for about 6 months" in said("epoxy-slow-80d", "mix")
    assert "once opened" not in said("wax-casting", "mix")


def test_inserts_get_their_seats_are_set_and_freed():
    plain, with_four = steps_of(job=Job(copies=2)), steps_of(job=Job(copies=2, inserts=4))
    told = {step.kind: str(step.text) for step in with_four.steps}
    assert "pins of the 4 threaded inserts" in told["clean"]
    assert "Clean the 4 threaded inserts" in told["close"] and "Unscrew the 4 pins" in told["out"]
    assert not any("insert" in str(step.text) for step in plain.steps)
    # A minute for each seat, and one for each insert of each casting (assumed).
    assert sum(step.hands_on_min for step in with_four.steps) == (
        sum(step.hands_on_min for step in plain.steps) + 4 + 2 * 4
    )


# -- sheets of the shop's own -----------------------------------------------------------

SHEET = {
    "title": "Yard urethane",
    "chemistry": "polyurethane",
    "sheet": "invented",
    "ratio_a": 100,
    "ratio_b": 90,
    "density_g_ml": 1.05,
    "pot_life_min": 4,
    "demould_h": 1,
}


@pytest.mark.parametrize(
    ("shore", "like"),
    [
        ("80 D", "polyurethane-slow-75d"),  # neither the filled nor the post-cured class
        ("70 D", "polyurethane-fast-70d"),  # nor the one of 70 on the other scale
        ("72 A", "polyurethane-flexible-80a"),
    ],
)
def test_gaps_come_from_the_nearest_class_on_the_same_scale(shore, like):
    card = card_or_problems("ours", SHEET | {"shore": shore})
    assert str(card.max_section_mm.source) == f"not on the sheet; it comes from the class {like}"
    assert not card.mixing and card.post_cure_c is None


def test_strength_and_expansion_in_other_units():
    """A psi is a pound-force on a square inch: 0.00689476 MPa, by definition."""
    card = card_or_problems(
        "ours", SHEET | {"shore": "70 D", "tensile_mpa": "1000 psi", "expansion_per_k": "90 ppm/K"}
    )
    assert card.tensile_mpa.value == pytest.approx(6.89476, rel=1e-6)  # six digits above
    assert card.expansion_per_k.value == pytest.approx(0.00009, rel=1e-12)
