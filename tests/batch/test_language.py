"""A part planned in a batch speaks the language of the command, wherever it is planned.

Counts are of the lines made here, by hand.
"""

import dataclasses
import html.parser
import json
import re
from importlib import resources

import pytest
from batch_parts import EASY, box_order, entry, files_of, serial_files
from output.greek import greek_catalogue
from output.left_english import latin

from castplan import door, texts
from castplan.batch import compare, summary
from castplan.batch.child import plan_parcel
from castplan.batch.cluster import Settings
from castplan.batch.digest import VERDICTS
from castplan.batch.order import key_of, mesh_hash, own_texts, pack, read_mesh
from castplan.batch.outcome import FAULT, PLANNED, STATUSES
from castplan.batch.page import page_html
from castplan.batch.pot import Load, Place, PotLoads
from castplan.batch.run import plan_missing
from castplan.batch.store import Store
from castplan.batch.totals import add_up
from castplan.records import Job, Pack, Shop


@pytest.fixture
def greek():
    texts.use(greek_catalogue())
    yield
    texts.use({})


def spoken_files(path, folder, catalogue):
    """What one process alone writes for a part in a language."""
    texts.use(catalogue)
    try:
        return serial_files(path, folder)
    finally:
        texts.use({})


def in_greek(order):
    texts.use(greek_catalogue())
    try:
        return dataclasses.replace(order, texts=own_texts())
    finally:
        texts.use({})


@pytest.fixture
def english_again():
    yield
    texts.use({})


@pytest.mark.long
def test_a_language_travels_to_workers_and_their_children(tmp_path):
    english = box_order(tmp_path, "plain")
    greek = in_greek(box_order(tmp_path, "greek"))
    store = Store(tmp_path / "out")
    settings = Settings(limits=EASY, n_workers=1)
    plan_missing(
        [greek, english], store, settings, is_wanted=lambda: True, report=lambda n_done, n_all: None
    )
    told = {one.name: (one.status, one.error, one.digest["says"]) for one in store.entries()}
    assert {name: values[:2] for name, values in told.items()} == {
        "greek": (PLANNED, ""),
        "plain": (PLANNED, ""),
    }
    assert not latin(" ".join(told["greek"][2])) and all(map(latin, told["plain"][2]))
    for order, catalogue in ((greek, greek_catalogue()), (english, {})):
        alone = spoken_files(order.path, tmp_path / f"alone-{order.name}", catalogue)
        assert files_of(store.plan_folder(order.name)) == alone
    # In another language it is the same plan in another folder's words.
    key = key_of(greek, mesh_hash(read_mesh(greek)))
    again = dataclasses.replace(greek, texts=b"")
    assert key_of(again, mesh_hash(read_mesh(greek))) == key
    assert store.holds("greek", key, EASY) and store.says("greek", greek.texts_sha256)
    assert not store.says("greek", again.texts_sha256)
    n_kept = plan_missing(
        [again, english], store, settings, is_wanted=lambda: True, report=lambda n_done, n_all: None
    )
    assert n_kept == 1 and store.says("greek", again.texts_sha256)
    alone = spoken_files(greek.path, tmp_path / "alone-again", {})
    assert files_of(store.plan_folder("greek")) == alone


@pytest.mark.usefixtures("english_again")
def test_a_plan_that_stands_is_said_in_another_language_without_planning(tmp_path, monkeypatch):
    order = box_order(tmp_path, "box")
    serial_files(order.path, tmp_path / "english")
    alone = spoken_files(order.path, tmp_path / "greek", greek_catalogue())

    def no_planning(*arguments, **options):
        raise AssertionError("planned again")

    monkeypatch.setattr(door, "plan_part", no_planning)
    assert plan_parcel(pack(order)).status == FAULT
    again = dataclasses.replace(in_greek(order), said=tmp_path / "english")
    outcome = plan_parcel(pack(again))
    assert (outcome.status, outcome.error) == (PLANNED, "")
    assert dict(outcome.files) == alone and not latin(" ".join(outcome.digest["says"]))
    # A folder that cannot be read is planned again.
    assert plan_parcel(pack(dataclasses.replace(again, said=tmp_path / "none"))).status == FAULT


def test_a_key_tells_plans_apart_and_not_languages(tmp_path):
    order = box_order(tmp_path, "box")
    assert own_texts() == b"" and order.texts == b"" and order.texts_sha256 == ""
    before = key_of(order, "m")
    texts.use({"foot.page": "{page}"})
    try:
        one = dataclasses.replace(order, texts=own_texts())
        texts.use({"foot.page": "{pages}"})
        other = dataclasses.replace(order, texts=own_texts())
    finally:
        texts.use({})
    assert before == key_of(one, "m") == key_of(other, "m")
    assert len({order.texts_sha256, one.texts_sha256, other.texts_sha256}) == 3
    assert json.loads(one.texts) == {"foot.page": "{page}"}
    assert before != key_of(dataclasses.replace(one, job=Job(copies=2)), "m")
    assert before != key_of(order, "n")


# -- the page ------------------------------------------------------------------


class Reader(html.parser.HTMLParser):
    """Texts of a page, those of its attributes too; scripts and styles left out."""

    def __init__(self):
        super().__init__()
        self.texts, self._hidden = [], False

    def handle_starttag(self, tag, attrs):
        self._hidden = tag in ("script", "style")
        named = ("aria-label", "title", "placeholder", "alt", "data-label")
        self.texts += [value for name, value in attrs if name in named]

    def handle_endtag(self, tag):
        self._hidden = False

    def handle_data(self, data):
        if not self._hidden:
            self.texts.append(data)


def read(page):
    reader = Reader()
    reader.feed(page)
    return reader.texts


GREEK_DIGEST = {
    "worst": [{"severity": "warn", "message": "Λεπτο.", "do": "Δες."}],
    "says": ["Γυρισε."],
}
# Names, ids of cards and what an error says: no texts.
OWN = frozenset({"hook", "kits", "EUR", "RH"})
SHOP = Shop(
    currency="EUR",
    packs=(
        Pack(name="kits", card="silicone-tin-25a", part="kit", mass_g=1050.0, price=30.0),
        Pack(name="kits", card="polyurethane-fast-70d", part="kit", mass_g=900.0, price=36.0),
    ),
)


def some_entries():
    """Parts of every state, verdict and split."""
    told = [GREEK_DIGEST | {"verdict": verdict} for verdict in VERDICTS]
    told += [
        GREEK_DIGEST | {"split": split} for split in ("level", "tilted", "stepped", "following")
    ]
    told += [
        GREEK_DIGEST | {"worst": []},
        GREEK_DIGEST | {"worst": [{"severity": "stop", "message": "Οχι.", "do": "Δες."}]},
        GREEK_DIGEST | {"copies": 40, "n_moulds": 3, "material_cost": 66.0, "currency": "EUR"},
        GREEK_DIGEST | {"copies": 2, "n_moulds": 2, "cost": 300.0, "currency": "EUR"},
    ]
    planned = [entry("hook", digest=digest) for digest in told]
    return planned + [entry("hook", status=one, error="οχι") for one in STATUSES[1:]]


def some_pot():
    place = Place(name="hook", x_mm=0.0, y_mm=0.0, wide_mm=50.0, deep_mm=40.0, resin_g=80.0)
    resin = "polyurethane-fast-70d"
    return PotLoads(
        inner_mm=(240.0, 300.0),
        loads=(
            Load(resin=resin, resin_g=80.0, largest_cup_g=300.0, places=(place,), least_g=85.0),
            Load(
                resin=resin,
                resin_g=400.0,
                largest_cup_g=300.0,
                places=(place, dataclasses.replace(place, mould=2)),
            ),
        ),
        too_large=("hook",),
    )


@pytest.mark.parametrize("shop", [SHOP, Shop()])
@pytest.mark.parametrize("n_more", [0, 3])
def test_every_word_of_the_page_can_be_translated(greek, shop, n_more):
    entries = some_entries()
    page = page_html(
        entries,
        add_up(entries, shop),
        some_pot(),
        title=summary.title("μερη"),
        n_asked=len(entries) + n_more,
        files={"hook": ("sheets.pdf", "view.html")},
    ).decode("utf-8")
    told = read(page)
    assert len(told) > 100
    assert [text for text in told if latin(text, OWN)] == []
    words = re.search(r'<script type="application/json" id="words">(.*?)</script>', page)[1]
    assert json.loads(words) == {"parts_page.shown": texts.entry_of("parts_page.shown")}


def test_every_word_of_the_closing_lines_can_be_translated(greek):
    entries = some_entries()
    told = [summary.count_sentence([], n_asked=0), summary.count_sentence([], n_asked=2)]
    told += summary.error_lines(entries)
    bought = add_up(entries, SHOP)
    told += [
        summary.buy_sentence(dataclasses.replace(bought, cost=9.0, apart_cost=apart))
        for apart in (None, 12.0)
    ]
    told += [
        summary.buy_sentence(dataclasses.replace(bought, cost=9.0, is_apart_short=True)),
        summary.buy_sentence(dataclasses.replace(bought, short=("silicone-tin-25a",))),
    ]
    assert len(told) == 11 and [text for text in told if latin(text, OWN)] == []


def test_every_word_of_a_comparison_can_be_translated(greek):
    after = GREEK_DIGEST | {
        "verdict": "may tear",
        "trapped_ml": 0.9,
        "n_vents": 5,
        "silicone_g": 9.0,
        "resin_g": 9.0,
        "draw": [0.0, 1.0, 0.0],
        "findings": [],
    }
    old = [entry("a"), entry("b"), entry("c"), entry("e")]
    new = [
        entry("a", digest=after, mesh_sha256="other", choices={"κ": "λ"}),
        entry("b", status="time", error="οχι"),
        entry("d"),
        entry("e"),
    ]
    told = compare.comparison_lines(compare.compare(old, new))
    told += compare.comparison_lines(compare.compare(new, old))
    # What stands behind these is a code: severity and name of a finding.
    told = [line.replace("warn thin", "") for line in told]
    assert len(told) > 25 and [text for text in told if latin(text, OWN)] == []


def test_another_language_is_no_other_verdict(greek):
    before = entry("a")
    assert compare.compare([before], [entry("a", digest=GREEK_DIGEST)]).is_same


def test_the_script_says_nothing_of_its_own():
    script = resources.files("castplan.batch").joinpath("page.js").read_text("utf-8")
    code = re.sub(r"//.*", "", script)
    quoted = re.findall(r"\"[^\"\n]*\"|'[^'\n]*'|`[^`]*`", code)
    assert [text for text in quoted if re.search(r"[A-Za-z]{2,} [a-z]", text)] == []


def test_the_script_fills_in_the_words(greek, browser, tmp_path):
    entries = [entry("hook"), entry("bezel"), entry("catch")]
    page = page_html(entries, add_up(entries, Shop()), None, title="μερη", n_asked=3, files={})
    (tmp_path / "index.html").write_bytes(page)
    tab = browser.new_page()
    tab.goto((tmp_path / "index.html").as_uri())
    assert tab.locator("#told").inner_text() == texts.say("parts_page.shown", shown=3, all=3)
    tab.fill("#find", "bez")
    assert tab.locator("#told").inner_text() == texts.say("parts_page.shown", shown=1, all=3)
    tab.close()
