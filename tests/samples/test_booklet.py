"""The booklet of every sample, as it is printed: short, full, and one number for one thing.

Text is read back from the PDF by pdfplumber, a reader of its own. Ten pages, and 60 % of
each page but the last of a drawing, are what the shop asked for (common practice, no
source). That the numbers of all outputs agree is asked in `test_outputs_agree`.
"""

import io
import re
from pathlib import Path

import pdfplumber
import pytest
from output.page_check import faults

from castplan.paper.booklet import build_booklet
from castplan.paper.pdf import pdf_bytes
from castplan.part.load import load_part
from castplan.planning import build_plan
from castplan.records import Job
from castplan.texts import say

PARTS = sorted((Path(__file__).parents[2] / "sample_parts").glob("*.stl"))
SOON = ("coat_hook", "sliding_catch")
COARSE = {"pitch_mm": 1.0, "n_directions": 60, "n_attitudes": 60}
MOST_PAGES = {"A4": 10, "Letter": 12}  # Letter is 17.6 mm lower (ISO 216; 8.5 x 11 in)
LEAST_USED = 0.55  # the foot of a block may end a few lines under 60 %
MIX = re.compile(r"A ([\d.]+) g and B ([\d.]+) g")


def cases():
    for path in PARTS:
        for kind in ("auto", "two-part"):
            for paper in ("A4", "Letter"):
                is_soon = path.stem in SOON and (kind, paper) == ("auto", "A4")
                marks = () if is_soon else pytest.mark.long
                named = f"{path.stem}-{kind}-{paper}"
                yield pytest.param((path, kind, paper), id=named, marks=marks)


@pytest.fixture(scope="module", params=list(cases()))
def printed(request):
    path, kind, paper = request.param
    plan = build_plan(load_part(path, unit="mm"), Job(mould=kind, paper=paper, **COARSE))
    return plan, build_booklet(plan)


@pytest.fixture(scope="module")
def words(printed):
    """The pages' text as the PDF holds it, one line each."""
    plan, pages = printed
    data = pdf_bytes(pages, title=plan.part.name, version="0")
    with pdfplumber.open(io.BytesIO(data)) as document:
        return [" ".join((page.extract_text() or "").split()) for page in document.pages]


def titled(printed, words, title):
    _, pages = printed
    return " ".join(text for page, text in zip(pages, words, strict=True) if page.title == title)


def used(sheet):
    """Share of the page's height that is used, its head and foot left out."""
    ys = []
    for item in sheet.items:
        ys += [item.y] if hasattr(item, "y") else []
        ys += list(item.points[:, 1]) if hasattr(item, "points") else []
        if hasattr(item, "shape") and hasattr(item.shape, "rings"):
            ys += [y for ring in item.shape.rings for y in ring[:, 1]]
    return (sheet.top - min(y for y in ys if y > sheet.bottom)) / (sheet.top - sheet.bottom)


def test_it_is_short_and_its_pages_are_full(printed):
    plan, pages = printed
    assert len(pages) <= MOST_PAGES[plan.job.paper]
    assert faults(pages) == []
    # The last of several of one title holds what is left.
    shares = {page.title: used(page) for page in pages[::-1]}
    assert all(share >= LEAST_USED for share in shares.values()), shares


def test_a_weight_is_the_same_wherever_it_stands(printed, words):
    """Steps, mixes and labels weigh the same; what is bought is their sum and the losses."""
    plan, _ = printed
    steps = titled(printed, words, say("book.steps"))
    mixes = titled(printed, words, say("book.mixes"))
    labels = titled(printed, words, say("book.labels"))
    # The last pair of a step that weighs is the one to weigh.
    told = [mix for step in plan.bench.schedule.steps for mix in MIX.findall(str(step.text))[-1:]]
    assert len(told) >= 2
    for a, b in told:
        assert f"A {a} g {a} g" in mixes  # to weigh, and what the scale then shows
        assert f"B {b} g" in mixes
        assert all(f"{grams} g" in text for grams in (a, b) for text in (steps, labels))
    assert len(re.findall(r"\bA [\d.]+ g [\d.]+ g", mixes)) == len(told)


def test_every_hold_is_waited_for_and_every_limit_can_be_kept(printed):
    plan, _ = printed
    tasks = {task.step: task for task in plan.bench.timeline.tasks if task.copy <= 1}
    ends = [tasks[step.number].end_min for step in plan.bench.schedule.steps if step.is_hold]
    for step in plan.bench.schedule.steps:
        held = [
            tasks[other.number].end_min
            for other in plan.bench.schedule.steps
            if other.is_hold and other.number < step.number
        ]
        if step.kind == "pour":
            assert all(tasks[step.number].start_min >= end for end in held)
    assert ends
    for cup in plan.bench.weigh.cups:
        assert cup.mix_and_pour_min <= cup.pour_by_min


def test_the_list_of_pages_is_right(printed, words):
    _, pages = printed
    for number, page in enumerate(pages[1:], start=2):
        if page.title != pages[number - 2].title:
            assert f"{number} {page.title[:18]}" in words[0]


def test_the_checks_can_fail(printed):
    _, pages = printed
    assert used(pages[1]) > 0.5
    pages[1].items[:] = pages[1].items[:3]
    assert used(pages[1]) < LEAST_USED
