"""The page and the table over all parts: what they say, and that nothing in a name runs.

Values are invented here.
"""

import csv
import html.parser
import io
import re
from dataclasses import replace

import batch_parts
import numpy as np
import pytest
from batch_parts import entry

from castplan.batch import digest as digests
from castplan.batch import summary
from castplan.batch.page import page_html
from castplan.batch.pot import fill_pot
from castplan.batch.totals import add_up
from castplan.part.load import load_part
from castplan.planning import build_plan
from castplan.records import Pack, Shop, Sketch
from castplan.words import plan as view

SHOP = Shop(
    currency="EUR",
    packs=(
        Pack(name="small", card="silicone-tin-25a", part="kit", mass_g=1050.0, price=30.0),
        Pack(name="large", card="silicone-tin-25a", part="kit", mass_g=5250.0, price=120.0),
        Pack(name="cans", card="polyurethane-fast-70d", part="kit", mass_g=900.0, price=36.0),
    ),
)
NASTY = '<img src=x onerror="alert(1)">&\'"'
LOST = entry("lost", status="time", error=f"{NASTY}: found no plan")


def page(entries, *, shop=SHOP, pot=None, files=None):
    told = page_html(
        entries, add_up(entries, shop), pot, title="Parts", n_asked=len(entries), files=files or {}
    )
    return told.decode("utf-8")


class Reader(html.parser.HTMLParser):
    """Tags with their attributes, ids and text of a page."""

    def __init__(self):
        super().__init__()
        self.tags, self.text = [], []

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data):
        self.text.append(data)


def read(text):
    reader = Reader()
    reader.feed(text)
    return reader


def test_one_pack_serves_several_parts():
    entries = [entry(name, digest={"material_cost": 66.0, "currency": "EUR"}) for name in "abcde"]
    totals = add_up([*entries, LOST], SHOP)
    silicone, resin = totals.lines
    # By hand: 5 x (400 + 20) g of 20 : 1; small kits hold 1000 + 50. 5 x 85 g of one can.
    assert (silicone.need_a_g, silicone.need_b_g) == (2000.0, 100.0)
    assert [(pack.name, n) for pack, n in silicone.packs] == [("small", 2)]
    assert [(pack.name, n) for pack, n in resin.packs] == [("cans", 1)]
    assert (totals.cost, totals.apart_cost) == (96.0, 330.0)
    # A tenth of it more often: four large kits cheaper than any number of small ones.
    many = add_up(entries * 10, SHOP).lines[0]
    assert [(pack.name, n) for pack, n in many.packs] == [("large", 4)]


def test_without_prices_the_need_is_told_all_the_same():
    totals = add_up([entry("a"), entry("b", digest={"silicone": "gone"})], Shop())
    assert totals.cost is None and totals.apart_cost is None
    assert totals.lines[0].need_a_g == 800.0
    assert "There is no price" in page([entry("a")], shop=Shop())


def test_packs_that_are_not_to_be_had_are_not_counted_on():
    # A hundred parts of 420 g of silicone, each from a small kit of its own; there are 50.
    packs = tuple(replace(pack, most=50) if pack.name == "small" else pack for pack in SHOP.packs)
    shop = replace(SHOP, packs=packs)
    silicone, resin = entry("a").digest["buy"]
    told = {
        "buy": [silicone | {"packs": [["small", 1]]}, resin | {"packs": [["cans", 1]]}],
        "material_cost": 66.0,
        "currency": "EUR",
    }
    few = add_up([entry(f"p{k}", digest=told) for k in range(50)], shop)
    assert (few.apart_cost, few.is_apart_short) == (50 * 66.0, False)
    many = add_up([entry(f"p{k}", digest=told) for k in range(51)], shop)
    assert many.apart_cost is None and many.is_apart_short and many.cost is not None
    assert "there would not be enough packs" in summary.buy_sentence(many)
    # Where all of them together do not cover it either, the material is named.
    none = replace(shop, packs=tuple(replace(pack, most=1) for pack in shop.packs))
    short = add_up([entry(f"p{k}", digest=told) for k in range(51)], none)
    assert short.cost is None and "silicone-tin-25a" in short.short
    assert "do not cover Tin-cure silicone" in summary.buy_sentence(short)


def test_a_card_that_is_gone_still_has_its_need():
    buy = [{"card": "our-own-30", "need_a_g": 7.0, "need_b_g": 3.0}]
    totals = add_up([entry("a", digest={"buy": buy})], SHOP)
    assert (totals.lines[0].card, totals.lines[0].need_a_g, totals.cost) == (
        "our-own-30",
        7.0,
        None,
    )


def test_the_table_holds_every_part_and_runs_nothing():
    entries = [
        entry("=cmd|'/c calc'!A1"),
        entry("-2+3"),
        LOST,
        entry("b", digest={"draw": [-1, 0, 0]}),
    ]
    text = summary.summary_csv(entries).decode("utf-8")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert tuple(rows[0]) == summary.COLUMNS
    assert [row["part"] for row in rows] == ["'=cmd|'/c calc'!A1", "'-2+3", "lost", "b"]
    assert rows[2]["error"] == LOST.error and rows[2]["state"] == "no plan"
    assert rows[3]["draw"] == "-1 0 0" and float(rows[3]["silicone_g"]) == 420.0


def test_a_name_is_only_text():
    reader = read(
        page([entry(NASTY, digest={"part": NASTY}), LOST], files={NASTY: ("sheets.pdf",)})
    )
    assert not [tag for tag, _ in reader.tags if tag == "img"]
    assert not [1 for _, attrs in reader.tags if any(name.startswith("on") for name in attrs)]
    assert reader.text.count(NASTY) == 1
    (link,) = [attrs["href"] for tag, attrs in reader.tags if "plans/" in attrs.get("href", "")]
    assert re.fullmatch(r"plans/[\w%.-]+/sheets\.pdf", link)


def test_the_page_needs_no_network():
    text = page([entry("a"), LOST])
    reader = read(text)
    assert not re.search(r"(?:https?:)?//(?!www\.w3\.org)[a-z]", text.split("<script>")[0])
    for _, attrs in reader.tags:
        assert "src" not in attrs
        assert not attrs.get("href", "").startswith(("http", "/"))
    assert "@import" not in text and "url(h" not in text
    policy = next(a["content"] for tag, a in reader.tags if a.get("http-equiv"))
    assert policy.startswith("default-src 'none'")


def test_a_row_a_part_with_what_is_asked_of_it():
    reader = read(page([entry("a", digest={"cost": 394.75, "currency": "EUR"}), LOST]))
    rows = [attrs for tag, attrs in reader.tags if attrs.get("class") == "part"]
    assert [(row["data-name"], row["data-state"]) for row in rows] == [("a", "1"), ("lost", "3")]
    assert (rows[0]["data-silicone"], rows[1]["data-silicone"]) == ("420.0", "")
    text = " ".join(reader.text)
    for told in (
        "stretches out",
        "0.20 ml",
        "420 g",
        "85.0 g",
        "394.75 EUR",
        "Thin here.",
    ):
        assert told in text
    assert LOST.error in text
    # Every control has a label, every picture a name (WCAG 2.2: 1.1.1, 1.3.1).
    labels = {attrs["for"] for tag, attrs in reader.tags if tag == "label" and "for" in attrs}
    controls = {a["id"] for tag, a in reader.tags if tag in ("input", "select") and "id" in a}
    assert controls == labels
    pictures = [a for tag, a in reader.tags if tag == "svg" and a.get("aria-hidden") != "true"]
    assert pictures and all(a["role"] == "img" and a["aria-label"] for a in pictures)


def test_same_entries_same_bytes():
    assert page([entry("a"), LOST]) == page([entry("a"), LOST])


def test_counts_name_what_was_not_tried():
    sentence = summary.count_sentence([entry("a"), LOST], n_asked=5)
    assert sentence == (
        "1 of 5 parts planned: 0 ready, 1 with a warning, 0 with a stop to clear first; "
        "3 not tried yet."
    )
    assert summary.error_lines([entry("a"), LOST]) == [f"lost: no plan. {LOST.error}"]


def luminance(colour):
    """Relative luminance of ``#rrggbb`` (WCAG 2.2, definition of that name)."""
    parts = np.array([int(colour[k : k + 2], 16) for k in (1, 3, 5)]) / 255
    linear = np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)
    return float(linear @ [0.2126, 0.7152, 0.0722])


def test_text_stands_out_in_light_and_dark():
    style = page([]).split("<style>")[1].split("</style>")[0]
    themes = re.findall(r":root \{(.*?)\}", style, re.S)
    assert len(themes) == 2
    for theme in themes:
        colours = dict(re.findall(r"--(\w+): (#\w{6})", theme))
        for ink, ground, least in (
            ("ink", "paper", 4.5),
            ("ink", "desk", 4.5),
            ("soft", "paper", 4.5),
            ("soft", "desk", 4.5),
            ("link", "paper", 4.5),
            ("ink", "part", 4.5),
            ("rule", "paper", 3.0),
            ("mark", "paper", 3.0),
            ("trapped", "part", 2.5),
        ):
            bright, dark = sorted((luminance(colours[ink]), luminance(colours[ground])))[::-1]
            assert (bright + 0.05) / (dark + 0.05) >= least, (ink, ground)


def test_a_digest_says_what_its_plan_says(tmp_path):
    job = batch_parts.replace_job(pot_mm=(240.0, 300.0), copies=3)
    plan = build_plan(load_part(batch_parts.write_box(tmp_path, "box"), unit="mm"), job)
    told = digests.digest_of(plan)
    # Closed form: 20 x 14 x 10 mm is 2.8 ml, and a box holds nothing.
    assert told["part_ml"] == pytest.approx(2.8)
    assert (told["verdict"], told["trapped_ml"]) == ("nothing holds", 0.0)
    assert told["says"] == view.summary_lines(plan)
    assert told["n_vents"] == len(view.vents(plan))
    assert told["silicone_g"] == pytest.approx(
        sum(cup.mass_g for cup in plan.bench.weigh.cups if cup.card == job.silicone), rel=1e-5
    )
    # The list to buy by has the test patch (19 g with 0.95 g) and a trial shot on top.
    need_g = [line["need_a_g"] + line["need_b_g"] for line in told["buy"]]
    assert need_g[0] == pytest.approx(told["silicone_g"] + 19.95, rel=1e-4)
    shots = (job.copies + 1) / job.copies
    assert need_g[1] == pytest.approx(shots * told["resin_g"], rel=1e-4)
    assert told["hands_on_min"] == pytest.approx(plan.bench.schedule.hands_on_min, rel=1e-4)
    # 25 copies at 20 casts: two moulds take the hands of one twice, but for inspecting the
    # original (20 min), its sealer (15) and the test patch (15), and the first sizes (10).
    two = digests.digest_of(build_plan(plan.part, replace(job, copies=25)))
    mould_min = plan.bench.buy.mould_hands_on_min
    assert two["n_moulds"] == 2
    assert two["hands_on_min"] == pytest.approx(
        60 + 2 * mould_min + 25 * plan.bench.buy.copy_hands_on_min, rel=1e-4
    )
    height, base = told["pot"]["height_mm"], told["pot"]["base_mm"]
    (fit,) = plan.bench.equipment.fits
    assert sorted([height, *base]) == pytest.approx(sorted(fit.mould_mm))
    assert np.hypot(*base) == pytest.approx(told["pot"]["need_mm"][0], rel=1e-5)
    text = page(
        [entry("box", digest=told)], pot=fill_pot([entry("box", digest=told)], (240, 300), Shop())
    )
    assert "1 mould in 1 load" in text


def test_a_picture_keeps_shape_and_place():
    square = np.array([[10.0, 20.0], [30.0, 20.0], [30.0, 30.0], [10.0, 30.0]])
    speck = np.array([[12.0, 22.0], [12.1, 22.0]])
    line = np.array([[10.0, 25.0], [30.0, 25.0]])
    sketch = Sketch(name="draw", pitch_mm=1.0, outline=(square,), lines=(speck, line), pockets=())
    picture = digests.draw_picture(sketch)
    assert (picture["width"], picture["height"]) == (1000, 500)
    assert picture["outline"] == "M0 500L1000 500L1000 0L0 0L0 500Z"
    assert picture["lines"] == "M0 250L1000 250"
    assert (
        digests.draw_picture(Sketch(name="draw", pitch_mm=1.0, outline=(), lines=(), pockets=()))[
            "outline"
        ]
        == ""
    )
