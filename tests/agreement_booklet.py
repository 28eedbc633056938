"""Whether a booklet agrees with itself: read from its printed text, page by page.

Sums and differences are worked out here from what is printed, by decimal arithmetic.
"""

import io
import re
from decimal import Decimal

import numpy as np
import pdfplumber
import trimesh

from castplan.paper.booklet import build_booklet
from castplan.paper.paper import Disc, Sheet
from castplan.paper.pdf import pdf_bytes
from castplan.paper.sheet_template import true_drawings
from castplan.paper.sheet_tiles import fit_tiles
from castplan.paper.sheet_true import Window

MIX = re.compile(r"A ([\d.]+) g and B ([\d.]+) g, ([\d.]+) g together")
LIMIT = r"within (\d+ min(?: \d+ s)?|\d+ s|\d+ h(?: \d+ min)?) of (?:the first touch|mixing)"
# What is told in whole millimetres is half of one off.
ROUNDED_MM = 0.51
# A channel starts on the original: off it by no more than the columns that found it.
ON_PART_MM = 1.5


def read_booklet(plan):
    """Title and text of each page, as the PDF holds them."""
    pages = build_booklet(plan)
    data = pdf_bytes(pages, title=plan.part.name, version="0")
    with pdfplumber.open(io.BytesIO(data)) as document:
        texts = [" ".join((page.extract_text() or "").split()) for page in document.pages]
    return [(page.title, text) for page, text in zip(pages, texts, strict=True)]


def _on(pages, title):
    return " ".join(text for name, text in pages if name == title)


def booklet_faults(plan):
    """Sentences on what a booklet tells in two ways, or cannot be done; empty where all is well."""
    pages = read_booklet(plan)
    steps = [(step.kind, str(step.text)) for step in plan.bench.schedule.steps]
    return [
        *_weights(pages, steps),
        *_limits(plan, pages, steps),
        *_box(plan, pages, steps),
        *_order(steps),
        *_holds(plan),
        *_sticks(plan, pages, steps),
        *_counts(plan, pages, steps),
        *_references(pages),
        *_things(pages, steps),
        *_days(plan, pages),
        *_numbers_read(plan, pages),
    ]


def _weights(pages, steps):
    """Steps, mixes and labels weigh the same, and both parts add up to what the scale shows."""
    mixes, labels = _on(pages, "Mixes"), _on(pages, "Cup labels and mould card")
    for kind, text in steps:
        if kind not in ("weigh", "mix"):
            continue
        for a, b, both in MIX.findall(text):
            if Decimal(a) + Decimal(b) != Decimal(both):
                yield f"{kind}: {a} + {b} g is not {both} g"
            for grams in (a, b):
                for name, page in (("mixes", mixes), ("labels", labels)):
                    if not re.search(rf"(?<![\d.]){re.escape(grams)} g", page):
                        yield f"{kind}: {grams} g is not on the {name}"
            if not re.search(rf"A \+ B {re.escape(both)} g", mixes):
                yield f"{kind}: {both} g is not on the mixes"


def _limits(plan, pages, steps):
    """Every time to pour by stands on mixes and labels too, and mixing and pouring fit into it."""
    mixes, labels = _on(pages, "Mixes"), _on(pages, "Cup labels and mould card")
    for kind, text in steps:
        for limit in re.findall(LIMIT, text) if kind in ("pour", "cast") else ():
            if f"from mixing {limit}" not in mixes:
                yield f"{kind}: {limit} is not on the mixes"
            if f"within {limit}" not in labels:
                yield f"{kind}: {limit} is not on the labels"
    is_told = any(finding.code == "no-time" for finding in plan.findings)
    for cup in plan.bench.weigh.cups:
        # What cannot be poured in time stops the plan; no sheet can mend it.
        if cup.mix_and_pour_min > cup.pour_by_min and not is_told:
            yield f"{cup.name}: {cup.mix_and_pour_min} min of work in {cup.pour_by_min} min"


def _numbers(pattern, text):
    found = re.search(pattern, text)
    return tuple(map(float, found.groups())) if found else None


def _box(plan, pages, steps):
    """The boards make the box of the step; walls are higher than what is poured behind them."""
    text = next(text for kind, text in steps if kind == "box")
    length, width, high = _numbers(r"([\d.]+) x ([\d.]+) mm inside, walls ([\d.]+) mm high", text)
    (mark,) = _numbers(r"Mark the pour height at ([\d.]+) mm", text)
    if mark > high:
        yield f"box: a mark at {mark} mm in walls of {high} mm"
    turned = " ".join(text for kind, text in steps if kind == "turn")
    second = _numbers(r"Mark the second pour at ([\d.]+) mm", turned)
    if second and second[0] > high:
        yield f"box: a second mark at {second[0]} mm in walls of {high} mm"
    thick = _numbers(r"Boards ([\d.]+) mm thick", _on(pages, "What to have ready"))
    if not thick or plan.split.box.shape != "rectangle":
        return
    told = {
        (float(a), float(b))
        for a, b in re.findall(r"\d+ of (\d+) x (\d+) mm", " ".join(map(str, _amounts(plan))))
    }
    long_side = length + 2 * thick[0]
    for size in ((long_side, high), (width, high)):
        if not any(np.abs(np.subtract(size, each)).max() <= 2 * ROUNDED_MM for each in told):
            yield f"box: no board of {size} among {sorted(told)}"


def _amounts(plan):
    return [line.amount for line in plan.bench.gear]


def _order(steps):
    """Tape before the release coat, water before it too, and the coat before the silicone."""
    kinds = [kind for kind, _ in steps]
    coat = kinds.index("release")
    for before in ("fix", "water"):
        if kinds.index(before) > coat:
            yield f"order: {before} after the release coat"
    if coat > kinds.index("weigh"):
        yield "order: silicone is weighed before the release coat"


def _holds(plan):
    """What stands behind a hold starts when that has ended."""
    tasks = {
        task.step: task
        for task in plan.bench.timeline.tasks
        if (task.mould, max(task.copy, 1)) == (1, 1)
    }
    steps = plan.bench.schedule.steps
    for hold in (step for step in steps if step.is_hold):
        for step in steps[hold.number :]:
            start, end = tasks[step.number].start_min, tasks[hold.number].end_min
            if start < end - 1e-6:
                yield f"hold: step {step.number} at {start} min, step {hold.number} ends at {end}"


def _sticks(plan, pages, steps):
    """Each stick is as long as the silicone that it crosses and what stands out, to be held."""
    del pages
    texts = " ".join(text for kind, text in steps if kind in ("sticks", "fix"))
    low, high = np.array(plan.mould.block.low_mm), np.array(plan.mould.block.high_mm)
    frame = plan.split.draw.frame
    triangles = plan.part.vertices_mm[plan.part.faces]
    for label, long, deep in re.findall(
        r"(?:gate|vent) (G?\d*), [\d.]+ mm thick, (\d+) mm long(?:, (\d+) mm of it)?", texts
    ):
        route = next(each for each in plan.mould.vents.routes if each.label == label)
        path = np.asarray(route.path_mm)
        crossed = float(np.linalg.norm(np.diff(path, axis=0), axis=1).sum())
        if abs(crossed - float(deep or long)) > ROUNDED_MM:
            yield f"stick {label}: {deep or long} mm in {crossed:.1f} mm of silicone"
        if deep and float(long) < float(deep) + 10:
            yield f"stick {label}: nothing to hold it by"
        if plan.split.box.shape == "rectangle":
            off = min(np.abs(path[-1] - low).min(), np.abs(path[-1] - high).min())
            if off > ROUNDED_MM:
                yield f"stick {label}: ends {off:.1f} mm off the box"
        start = np.broadcast_to(frame.to_part(path[:1]), (len(triangles), 3))
        nearest = trimesh.triangles.closest_point(triangles, start)
        away = float(np.linalg.norm(nearest - start, axis=1).min())
        if away > ON_PART_MM:
            yield f"stick {label}: starts {away:.1f} mm off the original"


def _circles(drawing, radius_mm):
    """How many circles of a radius a drawing at 1:1 has, on a paper that holds all of it."""
    sheet = Sheet("A4", title="")
    size_mm = tuple(np.subtract(drawing.high_mm, drawing.low_mm))
    tiling = fit_tiles(drawing.low_mm, drawing.high_mm, window_mm=size_mm)
    drawing.draw(Window(sheet, tiling, 0, 0))
    radii = [item.radius for item in sheet.items if isinstance(item, Disc)]
    return sum(abs(each - radius_mm) < 1e-6 for each in radii)


def _counts(plan, pages, steps):
    """Keys, vents and straws are as many in every place."""
    keys = _numbers(r"(?:Press|Stick) (\d+) ", " ".join(t for kind, t in steps if kind == "keys"))
    bed = next((each for each in true_drawings(plan) if each.title == "First silicone pour"), None)
    if keys and bed:
        key_mm = plan.mould.keys.diameter_mm
        alike = [port for port in plan.mould.block.ports if abs(port.diameter_mm - key_mm) < 1e-6]
        drawn = _circles(bed, key_mm / 2) - len(alike)
        if drawn != keys[0]:
            yield f"keys: {keys[0]:.0f} told, {drawn} drawn"
    ready = _on(pages, "What to have ready")
    tubes = re.search(r"Straws \(thin tubes\): ((?:\d+ of [\d.]+ mm;? ?)+)", ready)
    straws = sum(map(int, re.findall(r"(\d+) of", tubes[1]))) if tubes else 0
    close = " ".join(text for kind, text in steps if kind == "close")
    found = re.search(r"Put a straw in (?:vent|each of vents) ([\d, and]+)\.", close)
    told = len(re.findall(r"\d+", found[1])) if found else 0
    if told != straws:
        yield f"straws: {told} told, {straws} to have ready"


def _references(pages):
    """Pages that the steps and the first page name are there."""
    for number, title in re.findall(r"(\d+) (First silicone pour|Mixes|Steps)\b", pages[0][1]):
        if pages[int(number) - 1][0] != title:
            yield f"contents: {title} is not page {number}"
    # "The 1:1 page" may end a line, with a time beside it.
    named = [int(n) for n in re.findall(r"\bpages? (\d+)(?! (?:min|h|s)\b)\b", _on(pages, "Steps"))]
    wrong = [n for n in named if not 1 <= n <= len(pages)]
    if wrong:
        yield f"pages {wrong} of {len(pages)}"


# What a step tells to take in hand, and the word under which it stands in the lists: read off
# the texts of all steps, by hand.
THINGS = {
    r"[Pp]hotograph": "Camera",
    r"lengths that you can measure": "calliper",
    r"marker|[Mm]ark ": "marker",
    r"\bweigh": "Scale",
    r"fill deep scratches": "Filler",
    r"seal it with": "sealer",
    r"release agent": "Release agent",
    r"\bgreased?\b": "grease|Straight edge",
    r"in clay|half into the clay|with clay": "clay",
    r"double-sided tape": "double-sided tape",
    r"wax or varnish": "Wax or varnish",
    r"[Gg]lue": "glue",
    r"walls [\d.]+ mm high|base board|turning board": "Boards",
    r"into a jug": "jug",
    r"dry grain": "grain",
    r"half-round keys? on": "Half-round keys",
    r"greased rod|greased stick|smooth stick": "round stick",
    r"smooth rod, metal": "Smooth rod",
    r"[Ss]aw a|Cut a smooth rod": "saw",
    r"[Dd]rill": "[Dd]rill",
    r"lath across": "Lath",
    r"tape the old": "Adhesive tape",
    r"[Bb]rush": "brush",
    r"(?:cup|bucket) of [\d.]+ (?:ml|litres)": "Mixing cups",
    r"pouring cup": "Pouring cup",
    r"\bstraws?\b": "Straws",
    r"knife|Cut off|[Tt]rim": "knife",
    r"\bsand\b|[Ss]and ": "Sandpaper",
    r"spirit level": "Spirit level",
    r"straight edge": "Straight edge",
    r"stiff boards?|rigid boards": "stiff board",
    r"straps": "straps",
    r"wedges|box tilted": "Wedges",
    r"within \d+ min|within \d+ s": "Timer",
}


def _things(pages, steps):
    """All that a step tells to take stands among what to have ready."""
    ready = _on(pages, "What to have ready")
    for kind, text in steps:
        for asked, listed in THINGS.items():
            if re.search(asked, text) and not re.search(listed, ready):
                yield f"{kind}: {asked} is not among what to have ready"


def _days(plan, pages):
    """Each step stands on its day of the list, and the last day is that of the first page."""
    ready = _on(pages, "What to have ready")
    listed = ready[ready.index("Day by day") :]
    span = r"\d+(?: to \d+)?"
    row = rf"(?<![\d:])(\d+) ({span}(?:(?:, | and ){span})*) \d\d:\d\d to \d\d:\d\d"
    rows = re.findall(row, listed)
    timeline = plan.bench.timeline
    days = {}
    for task in timeline.tasks:
        if task.mould == 1 and task.copy <= 1:
            start_h = timeline.first_start_h + task.start_min / 60
            days.setdefault(int(start_h // 24) + 1, set()).add(task.step)
    told = {int(day): _spelled_out(numbers) for day, numbers in rows}
    if told != days:
        yield f"days: {told}, by the times {days}"
    if timeline.n_copies == timeline.n_moulds == 1:
        (last,) = re.findall(r"All done on day (\d+)", pages[0][1])
        if int(last) != max(told):
            yield f"days: the last is {max(told)}, all is done on day {last}"


def _spelled_out(numbers):
    found = set()
    for first, last in re.findall(r"(\d+)(?: to (\d+))?", numbers):
        found |= set(range(int(first), int(last or first) + 1))
    return found


# What nobody measures or weighs: powers of ten, and more than two decimals.
UNREAD = re.compile(r"\b\d+(?:\.\d+)?e[+-]?\d+|\d\.\d{3,} (?:mm|g|h|min)\b")


def _numbers_read(plan, pages):
    """No number is told with an exponent, or finer than anybody can measure."""
    told = [text for _, text in pages]
    told += [str(text) for finding in plan.findings for text in (finding.message, finding.do)]
    for text in told:
        for found in UNREAD.findall(text):
            yield f"number: {found}"
