"""The booklet of every sample, as it is printed: short, full, and one number for one thing.

Text is read back from the PDF by pdfplumber, a reader of its own, and the pages as they
print by PDFium. Ten pages on either paper, and 60 % of each page, are what the shop asked
for (common practice, no source). That the numbers of all outputs agree is asked in
`test_outputs_agree`.
"""

import io
import re
from pathlib import Path

import numpy as np
import pdfplumber
import pypdfium2 as pdfium
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
MOST_PAGES = 10
LEAST_USED = 0.6
BAND_MM = 10.0  # of the page, with something printed in it or not
EDGES_MM = 12.0, 24.0  # head and foot of the paper, which no page fills
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


def used(pages):
    """Of each page the share of its height where something is printed, head and foot left out."""
    shares = []
    with pdfium.PdfDocument(pdf_bytes(pages, title="", version="0")) as document:
        for page in document:
            dark = np.asarray(page.render(scale=1.0).to_pil().convert("L")) < 200
            px_per_mm = 72 / 25.4
            top, foot = (round(edge * px_per_mm) for edge in EDGES_MM)
            rows = dark[top:-foot].any(axis=1)
            bands = np.array_split(rows, round(len(rows) / px_per_mm / BAND_MM))
            shares.append(float(np.mean([band.any() for band in bands])))
    return shares


def test_it_is_short_and_its_pages_are_full(printed):
    _, pages = printed
    assert len(pages) <= MOST_PAGES
    assert faults(pages) == []
    shares = used(pages)
    assert min(shares) >= LEAST_USED, dict(zip([page.title for page in pages], shares, strict=True))


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
    tasks = {
        task.step: task
        for task in plan.bench.timeline.tasks
        if (task.mould, max(task.copy, 1)) == (1, 1)
    }
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
    bare = [page for page in pages if page.title == say("book.mixes")]
    assert min(used(bare)) >= LEAST_USED
    bare[0].items[:] = bare[0].items[:3]
    assert min(used(bare)) < LEAST_USED
