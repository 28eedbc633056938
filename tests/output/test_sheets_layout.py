"""Pages read off the figures: nothing overlaps, leaves the page or is missing.

Sizes of type are the sheets' own rule (assumed).
"""

import re

import matplotlib.colors
import pytest
from output.bound import booklet, everything
from output.page_check import faults
from output.plan_fixture import make_plan
from output.plan_variants import VARIANTS, make_large_plan

from castplan import palette
from castplan.materials.cards import load_cards
from castplan.materials.cautions import load_cautions
from castplan.paper import paper
from castplan.paper.sheets import build_sheets
from castplan.words import air as air_view
from castplan.words import bench as bench_view
from castplan.words import formats
from castplan.words import mix as mix_view
from castplan.words import plan as view
from castplan.words import schedule as schedule_view


def texts_of(sheet):
    return [text.text for text in sheet.texts]


def joined(sheets):
    """All text of some sheets on one line, without the breaks that wrapping made."""
    return " ".join(" ".join(texts_of(sheet)) for sheet in sheets)


def titled(sheets, title):
    return [sheet for sheet in sheets if sheet.title.startswith(title)]


@pytest.fixture(scope="module", params=VARIANTS, ids=list(VARIANTS))
def variant(request):
    plan = VARIANTS[request.param]
    return plan, everything(plan)


def test_no_text_overlaps_or_leaves_the_page(variant):
    _, sheets = variant
    assert faults(sheets) == []


def test_nothing_is_lost_between_the_pages(variant):
    plan, sheets = variant
    text = joined(sheets)
    for finding in plan.findings:
        assert formats.raised(str(finding.message)) in text
    for step in plan.bench.schedule.steps:
        assert formats.raised(str(step.text)) in joined(titled(sheets, "Steps"))
    for pages in (booklet(plan), build_sheets(plan)):
        text = joined(pages)
        for number in range(1, len(pages) + 1):
            assert f"page {number} of {len(pages)}" in text


def test_the_booklet_is_short_and_its_list_of_pages_right(variant):
    plan, _ = variant
    pages = booklet(plan)
    # Drawings at 1:1 that take several sheets, strips and logs of many cups come on top.
    fixed = [sheet for sheet in pages if "pour" not in sheet.title.lower()]
    assert len(fixed) <= 8 + (plan.bench.buy.copies > 20) + len(titled(pages, "Clay"))
    listed = [text.text for text in pages[0].texts]
    for number, sheet in enumerate(pages[1:], start=2):
        if sheet.title != pages[number - 2].title:
            titles = [
                listed[k + 1].rstrip("…") for k, text in enumerate(listed) if text == str(number)
            ]
            assert any(sheet.title.startswith(title) for title in titles)
    # A look that shares a page is listed with the page it stands on.
    for look in {"Second silicone pour", "Pour sketch, upper side"} & set(listed):
        page = pages[int(listed[listed.index(look) - 1]) - 1]
        assert any(text.text.startswith(look) for text in page.texts)


def test_every_opening_is_numbered_on_both_sides_and_listed(variant):
    plan, _ = variant
    sheets = build_sheets(plan)
    upper = titled(sheets, "Pour sketch, upper")
    under = titled(sheets, "Pour sketch, UNDERSIDE - mirrored")
    assert len(upper) == len(under) >= 1
    for port in plan.mould.block.ports:
        mark = f"{port.label} blocked" if port.is_blocked else port.label
        for side in (upper, under):
            assert any(mark in texts_of(sheet) for sheet in side), port.label
        row = air_view.port_row(plan, port, port.path_mm, pitch_mm=plan.sampling.pitch_mm)
        assert row[2] in joined([*upper, *titled(sheets, "Gate and vents")])


def test_the_page_check_can_fail():
    sheet = paper.Sheet("A4", title="")
    sheet.text(20, 100, "one over")
    sheet.text(30, 101, "the other")
    sheet.text(195, 50, "too far to the right")
    sheet.text(20, 20, "small", size_pt=8)
    # Close under each other at the usual leading, as lines of one paragraph stand.
    sheet.text(20, 200, "upper line gpq")
    sheet.text(20, 200 - paper.leading_mm(), "LOWER LINE Äß")
    assert faults([sheet]) == [
        "'too far to the right' leaves the printable page",
        "'one over' runs into 'the other'",
        "'small' is 8 pt",
    ]


def test_only_foot_and_sources_are_smaller_than_11_pt():
    plan = make_plan()
    sources = " ".join(view.caution_codes(caution) for caution in load_cautions().values())
    for sheet in everything(plan):
        for text in sheet.texts:
            is_foot = text.y < sheet.bottom
            # The letter in a warning's triangle is a sign, not reading matter.
            may_be_small = is_foot or text.text in sources or text.text == "W"
            assert text.size_pt >= (9.0 if may_be_small else 11.0), text.text


def test_weights_and_times_stand_in_14_pt_or_more():
    plan = make_plan()
    pages = booklet(plan)
    sheets, steps = titled(pages, "Mixes"), titled(pages, "Steps")
    sizes = {t.text: t.size_pt for s in sheets for t in s.texts}
    for mix, cup in bench_view.cups_as_mixes(plan):
        for row in mix_view.mix_rows(mix, cup, load_cards()[mix.card]):
            for cell in row:
                assert not cell or sizes[formats.raised(cell)] >= 14.0
        for _, time in mix_view.mix_facts(mix):
            assert sizes[formats.raised(time)] >= 14.0
    for step in plan.bench.schedule.steps:
        for time in schedule_view.step_times(step):
            assert {t.size_pt for s in steps for t in s.texts if t.text == time} == {14.0}


def test_a_cup_has_a_line_in_the_log_for_every_time_it_is_mixed():
    sheets = titled(booklet(VARIANTS["40 copies"]), "Mixes")
    cups = [text for sheet in sheets for text in texts_of(sheet) if re.fullmatch(r"\d+", text)]
    assert sorted(map(int, cups)) == sorted([1, 1, *range(1, 41)])


def test_hold_points_are_signed_and_steps_ticked():
    plan = make_plan()
    text = joined(titled(booklet(plan), "Steps"))
    n_holds = sum(step.is_hold for step in plan.bench.schedule.steps)
    assert n_holds == 3
    assert text.count("Go on only when this is signed") == text.count("initials") == n_holds


def test_cautions_stand_beside_the_steps_and_in_full():
    plan = make_plan()
    text = joined(titled(booklet(plan), "Steps"))
    full = joined(titled(build_sheets(plan), "What can hurt"))
    cautions = load_cautions()
    for key in {key for step in plan.bench.schedule.steps for key in step.cautions}:
        assert view.caution_short(cautions[key]) in text
        assert str(cautions[key].text) in full
        assert view.caution_codes(cautions[key]) in full


def test_the_job_sheet_says_what_terminal_and_page_say():
    plan = make_plan()
    sheets = titled(build_sheets(plan), "Job sheet")
    text = joined(sheets)
    for sentence in (
        *(each.sentence for each in view.decisions(plan)),
        view.sampling_sentence(plan),
    ):
        assert formats.raised(sentence) in text
    for candidate in plan.split.draw.candidates:
        assert view.direction_words(candidate.direction) in text


def luminance(colour):
    """Relative luminance, WCAG 2.2 (W3C Recommendation, 2023), "relative luminance"."""
    parts = [
        c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4
        for c in matplotlib.colors.to_rgb(colour)
    ]
    return 0.2126 * parts[0] + 0.7152 * parts[1] + 0.0722 * parts[2]


def contrast(one, other):
    """WCAG 2.2 contrast ratio."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_text_stands_out_from_the_paper():
    # WCAG 2.2, 1.4.3: 4.5 to 1 for text, also in grey, as it counts luminance only.
    assert contrast("black", "white") == pytest.approx(21.0)  # the definition's own extreme
    for sheet in everything(make_plan()):
        for text in sheet.texts:
            ground = palette.INK if text.colour == "white" else "white"
            assert contrast(text.colour, ground) >= 4.5, text.text


def test_wrapped_lines_fit_and_lose_nothing():
    text = "Weigh 583 g [c] of part A and 58.3 g [c] of part B into a cup_without_any_break_at_all."
    for room_mm in (20.0, 45.0, 120.0):
        lines = paper.wrap(text, room_mm=room_mm)
        assert all(paper.text_width_mm(line) <= room_mm for line in lines)
        assert "".join(lines).replace(" ", "") == text.replace(" ", "")
    # A number is never parted from its unit and its letter.
    lines = paper.wrap(text, room_mm=45.0)
    assert any("583 g [c]" in line for line in lines)
    assert any("58.3 g [c]" in line for line in lines)


def test_the_paper_way_round_that_takes_fewer_sheets():
    # 187 x 96 mm of box do not fit across A4, but fit along it.
    sheets = titled(build_sheets(make_large_plan(factor=1.3)), "Pour sketch")
    assert len(sheets) == 2
    assert all(sheet.width_mm > sheet.height_mm for sheet in sheets)
