"""Rounding, units and the sentences that terminal, sheet and page share.

Three lines of 11 pt hold 260 letters (assumed: about as many as on the sheets).
"""

from dataclasses import replace

import numpy as np
import pytest
from output.plan_fixture import bedding, make_plan
from output.plan_texts import FINDINGS

from castplan import records
from castplan.materials.cards import get_card
from castplan.materials.cautions import load_cautions
from castplan.words import bed as bed_view
from castplan.words import bench as bench_view
from castplan.words import formats
from castplan.words import mesh as mesh_view
from castplan.words import mix as mix_view
from castplan.words import plan as view


def test_ounces_follow_the_avoirdupois_pound():
    # International yard and pound agreement, 1959: 1 lb = 0.45359237 kg exactly, 16 oz.
    assert formats.ounce_text(453.59237) == "16.00 oz"
    assert formats.ounce_text(453.59237 * 4) == "64.0 oz"


@pytest.mark.parametrize(
    ("length_mm", "text"),
    # 1 in = 25.4 mm exactly (same agreement).
    [(25.4, "25.4 mm (1 in)"), (38.1, "38.1 mm (1 1/2 in)"), (0.0, "0 mm (0 in)")],
)
def test_lengths_read_in_both_units(length_mm, text):
    assert formats.both_lengths(length_mm, error_mm=0.1) == text


@pytest.mark.parametrize(
    ("value", "error", "text"),
    # The last digit kept is the first digit of the error, as the GUM (JCGM 100:2008,
    # 7.2.6) asks of results: no more digits than the uncertainty bears.
    [
        (642.31, 14.0, "640"),
        (642.31, 3.0, "642"),
        (18.234, 0.3, "18.2"),
        (18.26, 0.03, "18.26"),
        (-0.01, 1.0, "0"),
        (99.6, 10.0, "100"),
    ],
)
def test_no_digit_beyond_the_error(value, error, text):
    assert formats.rounded(value, error=error) == text


def test_trapped_volumes_keep_two_digits_or_say_nothing():
    assert formats.trapped_text(812.4) == "0.81 ml"
    assert formats.trapped_text(12_480.0) == "12 ml"
    assert formats.trapped_text(0.3) == "nothing"


def test_sides_of_a_size_each_keep_three_digits():
    assert formats.size_text((124.04, 64.0, 5.53)) == "124 x 64 x 5.53 mm"


@pytest.mark.parametrize(
    ("minutes", "text"),
    [(1.5, "1.5 min"), (45, "45 min"), (100, "1 h 40 min"), (960, "16 h"), (5940, "99 h")],
)
def test_times(minutes, text):
    assert formats.time_text(minutes) == text


def test_what_nobody_found_out_is_told_in_words():
    told = {basis: formats.behind(basis) for basis in records.BASES}
    unproven = {basis: said for basis, said in told.items() if said}
    assert unproven == {"assumed": " (assumed)", "from memory": " (from memory)"}
    assert all(basis in view.basis_foot().lower() for basis in unproven)


def test_raised_powers():
    assert formats.raised("312 cm2, 40 mm3, room A2") == "312 cm², 40 mm³, room A2"


@pytest.mark.parametrize(
    ("lean_deg", "words"),
    [
        (0.0, "along the file's +z"),
        (1.9, "along the file's +z"),
        (2.1, "along (0.04, 0.00, 1.00) of the file's axes"),
        (180.0, "along the file's -z"),
    ],
)
def test_direction_words(lean_deg, words):
    lean = np.radians(lean_deg)
    assert view.direction_words((np.sin(lean), 0.0, np.cos(lean))) == words


def test_five_lines_say_what_to_do():
    lines = view.summary_lines(make_plan())
    assert len(lines) == 5
    for line, verb in zip(lines, ("Lay", "Clay", "Box", "Pour", "Weigh"), strict=True):
        assert line.startswith(verb)
        assert line.endswith(".")
    # 18.2 mm in the file's height over a box floor at -12 mm.
    assert "30.2 mm (1 3/16 in)" in lines[1]
    assert "641 g for the upper half" in lines[2]
    assert "A 63.6 g + B 57.3 g" in lines[4]


def test_stops_come_before_the_turn():
    stop = replace(FINDINGS[0], severity="stop")
    lines = view.summary_lines(make_plan(findings=(*FINDINGS[1:], stop)))
    assert len(lines) == 5
    assert lines[0].startswith("Deal with 1 stop first")


def test_findings_are_ranked():
    stop = replace(FINDINGS[0], severity="stop")
    ranked = view.sorted_findings(make_plan(findings=(*FINDINGS[::-1], stop)))
    assert [finding.severity for finding in ranked] == ["stop", "warn", "warn", "note"]


def test_a_flat_back_needs_no_clay():
    plan = make_plan()
    flat = replace(
        plan,
        mould=replace(plan.mould, block=replace(plan.mould.block, bedding=bedding("flat-back"))),
    )
    assert bed_view.is_flat_back(flat)
    assert not bed_view.is_flat_back(plan)
    assert "without a clay bed" in view.summary_lines(flat)[1]
    assert "flat back" in view.decisions(flat)[1].sentence
    printed = replace(
        plan,
        mould=replace(plan.mould, block=replace(plan.mould.block, bedding=bedding("printed-bed"))),
    )
    told = view.summary_lines(printed)[1]
    assert "Set it into the printed bed" in told and "clay" not in told


def test_air_too_little_to_measure_is_not_mentioned():
    plan = make_plan()
    assert "may trap 0.10 ml of air" in view.decisions(plan)[2].sentence
    tight = replace(plan, air=replace(plan.air, openings=replace(plan.air.openings, small_mm3=0.4)))
    assert view.decisions(tight)[2].sentence.endswith("It needs 3 vents.")


def test_a_tilted_pour_is_said():
    plan = make_plan()
    lean = np.radians(15.0)
    up = (float(np.sin(lean)), float(np.cos(lean)), 0.0)
    chosen, *others = plan.air.attitude.options
    options = (replace(chosen, tilt_deg=15.0), *others)
    tilted = replace(
        plan,
        air=replace(
            plan.air,
            openings=replace(plan.air.openings, up=up),
            attitude=replace(plan.air.attitude, options=options),
        ),
    )
    assert "tilted" not in view.summary_lines(plan)[3]
    line = view.summary_lines(tilted)[3]
    assert "(the file's +y) up, tilted 15 degrees until the side points up" in line


def test_a_draw_chosen_for_its_work_is_not_called_the_least_trapping():
    plan = make_plan()
    best, *others = plan.split.draw.candidates
    costly = replace(plan.split.draw, candidates=(replace(best, trapped_mm3=5000.0), *others))
    sentence = view.decisions(replace(plan, split=replace(plan.split, draw=costly)))[0].sentence
    assert "by the effort it makes; with a level parting it traps 5.0 ml" in sentence


@pytest.mark.parametrize(
    ("kind", "bed", "split"),
    # The stations run 4 mm (tilted 3.33 mm) either way of 18.2 mm, over a floor at -12 mm.
    [
        (
            "tilted",
            "one tilted plane, 26.9 to 33.5 mm",
            "Put the parting line in one tilted plane, 26.9 to",
        ),
        (
            "stepped",
            "Clay to the clay strip, 27.2 to 33.2 mm",
            "Put the parting line in level stretches with",
        ),
        (
            "following",
            "Clay to the clay strip, 26.2 to 34.2 mm",
            "Put the parting line along its edge, up and down",
        ),
    ],
)
def test_a_split_that_is_not_level(kind, bed, split):
    plan = make_plan(line_kind=kind)
    assert bed in view.summary_lines(plan)[1]
    assert view.decisions(plan)[1].sentence.startswith(split)
    assert "It traps 0.57 ml, a level parting 0.81 ml" in view.decisions(plan)[1].sentence


def test_a_split_that_was_asked_for_is_not_defended():
    plan = make_plan()
    asked = replace(
        plan, split=replace(plan.split, line=replace(plan.split.line, is_asked_for=True))
    )
    assert "as you chose. It traps 0.81 ml" in view.decisions(asked)[1].sentence


def test_three_sentences_with_the_reason():
    draw, split, pour = (each.sentence for each in view.decisions(make_plan()))
    assert (
        "Best of 256 directions: with a level parting it traps least" in draw
        and "0.81 ml" in draw
        and "2.3 ml" in draw
    )
    # Free from 16.0 to 21.5 mm over a floor at -12 mm.
    assert "28.0 to 33.5 mm" in split
    assert "gate G" in pour and "It needs 3 vents" in pour


def test_nothing_to_open_is_said():
    plan = make_plan(ports=())
    assert "It needs no vent" in view.decisions(plan)[2].sentence
    assert "no vent is needed" in view.summary_lines(plan)[3]


def test_the_scale_shows_the_sum_of_what_was_weighed():
    mix, cup = bench_view.cups_as_mixes(make_plan())[-1]
    rows = mix_view.mix_rows(mix, cup, None)
    # 63.6 g and 57.3 g on a tared scale.
    assert [row[4] for row in rows] == ["63.6 g", "120.9 g", ""]
    # Without a card the parts' own densities are not known.
    assert [row[3] for row in rows] == ["", "", "115 ml"]


def test_a_part_is_measured_by_its_own_density():
    mix, cup = bench_view.cups_as_mixes(make_plan())[-1]
    card = get_card("polyurethane-fast-70d", kind="resin")
    grams = {"basis": "data sheet", "source": "invented", "unit": "g/ml"}
    card = replace(
        card,
        density_a_g_ml=records.Sourced(value=1.10, **grams),
        density_b_g_ml=records.Sourced(value=0.99, **grams),
    )
    # 63.63 g / 1.10 and 57.27 g / 0.99 are 57.8 ml each: 100:90 by weight is 1:1 by volume.
    volumes = [row[3] for row in mix_view.mix_rows(mix, cup, card)]
    assert volumes == ["57.8 ml", "57.8 ml", "115.6 ml"]  # whoever adds them up gets the sum


def test_check_names_the_other_unit():
    check = make_plan().part.check
    lines = mesh_view.check_lines(check, inches=False)
    assert lines[0].startswith("Size: 120 x 70 x 50 mm (4 23/32 x 2 3/4 x 1 31/32 in)")
    # 120, 70, 50 inches at 25.4 mm.
    assert "Read as inches it would be 3048 x 1778 x 1270 mm, larger than a door" in lines[1]
    assert mesh_view.check_lines(check, inches=True)[0].startswith("Size: 4 23/32 x")


def test_check_tells_an_open_mesh():
    check = replace(
        make_plan().part.check, is_watertight=False, n_open_edges=24, n_holes=2, file_unit="mm"
    )
    text = "\n".join(mesh_view.check_lines(check, inches=False))
    assert "Closed: no. 24 open edges round 2 holes" in text
    assert "Unit: mm, as the file says." in text
    assert "Volume" not in text


def test_every_caution_has_a_short_form():
    for caution in load_cautions().values():
        short = view.caution_short(caution)
        assert short.startswith(str(caution.title))
        assert short.endswith(".") and ".." not in short
        # The short form stands beside a step: at most three lines of 11 pt.
        assert len(short) < 260


def test_the_rubber_is_said_to_leave_or_not():
    line = view.summary_lines(make_plan())[1]
    assert (
        "0.81 ml is undercut: the silicone may tear in pocket 1 and will not come out of pocket 2"
        in (line)
    )


@pytest.mark.parametrize(
    ("verdicts", "words"),
    [
        (("leaves freely", "leaves freely"), "the silicone releases freely from pockets 1 and 2."),
        (
            ("flexes out", "locked"),
            "the silicone stretches out of pocket 1 and will not come out of pocket 2.",
        ),
        (("none", "none"), "0.81 ml of silicone has to stretch out when you open the mould."),
        (("flexes out",) * 5, "the silicone stretches out of 5 pockets."),
    ],
)
def test_pockets_are_told_by_their_verdicts(verdicts, words):
    plan = make_plan()
    pockets = tuple(
        replace(plan.split.flex.pockets[0], number=number, verdict=verdict)
        for number, verdict in enumerate(verdicts, start=1)
    )
    plan = replace(plan, split=replace(plan.split, flex=replace(plan.split.flex, pockets=pockets)))
    assert view.summary_lines(plan)[1].endswith(words)


def test_a_plane_without_tilt_has_one_height():
    plan = make_plan(line_kind="tilted")
    loop = plan.split.line.outlines[0]
    flat = replace(loop, line_mm=np.full(len(loop.line_mm), 18.2))
    plan = replace(plan, split=replace(plan.split, line=replace(plan.split.line, outlines=(flat,))))
    assert "tilted plane, 30.2 mm above" in view.decisions(plan)[1].sentence


def test_a_direction_has_no_minus_zero():
    assert view.direction_words((0.6, 0.8, -0.001)).startswith("along (0.60, 0.80, 0.00)")
