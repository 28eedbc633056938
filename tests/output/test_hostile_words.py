"""Hostile words in names of parts, tins, packs, lengths, lists and notes: shown as text.

Judges are the system's browser, lxml, ezdxf, pypdf, pdfplumber and Python's csv module; the
words and their sources stand in `hostile`.
"""

import csv
import io
import json

import ezdxf
import hostile
import lxml.etree
import page_server
import pdfplumber
import pypdf
import pytest
import shapes
from batch_parts import entry

from castplan import cli
from castplan.after.records import CastLog, LoggedPour, Withdrawal
from castplan.batch.outcome import Outcome
from castplan.batch.run import write_catalogue
from castplan.batch.store import Store
from castplan.batch.summary import summary_csv
from castplan.checks import plain_line
from castplan.door import Planned
from castplan.errors import InputError
from castplan.files.plan_folder import read_plan
from castplan.materials.folder import card_file, keep
from castplan.materials.sheet import card_or_problems, card_text
from castplan.part.load import part_from_arrays
from castplan.planning import build_plan
from castplan.records import Gauge, Job, Pack, Shop
from castplan.words.cast import log_csv

MARKUP = hostile.MARKUP


def box(name):
    body = shapes.box(40.0, 30.0, 20.0)
    return part_from_arrays(body.vertices_mm, body.faces, name=name)


@pytest.fixture(scope="module")
def planned(tmp_path_factory):
    """A plan whose every name is markup, and its folder; the part's name is long as well."""
    home = tmp_path_factory.mktemp("home")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("CASTPLAN_HOME", str(home))
        keep(card_file("ours"), card_text(card_or_problems("ours", hostile.SHEET)))
        shop = Shop(
            currency="<b>",
            packs=(Pack(name=f"P {MARKUP}", card="ours", part="set", mass_g=1000.0, price=20.0),),
            uses=(("clay", f"U {MARKUP}"),),
        )
        job = Job(
            silicone="ours",
            shop=shop,
            gauges=(Gauge(name=f"G {MARKUP}", length_mm=20.0),),
            draw=(0.0, 0.0, 1.0),
            n_attitudes=8,
            mould="two-part",
        )
        plan = build_plan(box(f"N {MARKUP} {hostile.LONG}"), job)
        folder = Planned(plan).write(tmp_path_factory.mktemp("made") / "plan")
        yield plan, folder


def no_script(context):
    """A page of a context on which nothing may run that castplan did not write."""
    opened = context.new_page()
    opened.set_default_timeout(60_000)
    ran = []
    opened.on("dialog", lambda dialog: (ran.append(dialog.message), dialog.dismiss()))
    opened.on("pageerror", lambda error: ran.append(str(error)))
    opened.on("request", lambda asked: asked.url.endswith("/x") and ran.append(asked.url))
    return opened, ran


def assert_is_text(opened, ran, *starts):
    """Every name stands there as text, and nothing of it became an element or ran."""
    assert ran == []
    assert opened.locator("[onerror], [onload], img[src=x]").count() == 0
    text = opened.evaluate("document.documentElement.textContent")
    for start in starts:
        assert f"{start} <img src=x onerror=alert(1)>" in text, start
    assert not set(text) & set(hostile.UNSHOWN)


@pytest.mark.parametrize("word", hostile.WORDS)
def test_a_part_has_a_name_that_can_be_shown(word):
    name = box(word).name
    assert name == plain_line(word) or (name == "part" and not word.strip())
    assert name.isprintable() and 0 < len(name) <= 200 and name == name.strip()


def test_the_plan_reads_back_with_its_names(planned):
    plan, folder = planned
    again = read_plan(folder)
    assert again.part.name == plan.part.name and again.part.name.startswith(f"N {MARKUP}")
    assert json.loads((folder / "plan.json").read_bytes())["part"]["name"] == plan.part.name


@pytest.mark.parametrize("name", ["sheets.pdf", "details.pdf"])
def test_on_paper_names_are_text_and_end_at_the_edge(planned, name):
    path = planned[1] / name
    text = " ".join(page.extract_text() for page in pypdf.PdfReader(path).pages)
    assert "N <img src=x onerror=alert(1)>" in text
    with pdfplumber.open(path) as paper:
        for page in paper.pages:
            # Half a point for the side bearing of a last letter.
            beyond = [c["text"] for c in page.chars if c["x1"] > page.width + 0.5 or c["x0"] < -0.5]
            assert beyond == [], page.page_number


def test_drawings_hold_no_markup_of_others(planned):
    _, folder = planned
    tree = lxml.etree.parse(folder / "boards.svg")
    tags = {lxml.etree.QName(each).localname for each in tree.iter(tag=lxml.etree.Element)}
    assert not tags & {"script", "img", "image", "foreignObject", "a"}
    assert not any(key.startswith("on") for each in tree.iter() for key in each.attrib)
    drawing = ezdxf.readfile(folder / "boards.dxf")
    assert not drawing.audit().has_errors


def test_in_the_view_names_are_text(planned, browser):
    context = browser.new_context()
    opened, ran = no_script(context)
    opened.goto((planned[1] / "view.html").as_uri())
    opened.wait_for_selector(".castview-canvas, canvas")
    assert_is_text(opened, ran, "N")
    context.close()


def results(place):
    store = Store(place)
    worst = [{"severity": "stop", "message": f"M {MARKUP}", "do": f"D {MARKUP}"}]
    digest = {"worst": worst, "part": f"A {MARKUP}", "says": [f"Y {MARKUP}"], "verdict": "locked"}
    entries = [
        entry("one", file=f"F {MARKUP}".replace("/", "_"), digest=digest | {"currency": "<b>"}),
        entry("two", status="refused", error=f"E {MARKUP}", file="=1+1.stl"),
    ]
    store.list_parts({each.name: each.key for each in entries})
    for each in entries:
        store.keep(each, Outcome(status=each.status, files=(("plan.json", b"{}"),)))
    return store


def test_on_the_page_of_a_batch_names_are_text(tmp_path, browser):
    store = results(tmp_path / "out")
    write_catalogue(store, title=f"L {MARKUP}", n_asked=2, shop=Shop(), pot_mm=None)
    context = browser.new_context()
    opened, ran = no_script(context)
    opened.goto((tmp_path / "out" / "index.html").as_uri())
    opened.wait_for_load_state()
    assert_is_text(opened, ran, "L", "M", "E")
    context.close()


def cells(data):
    return [
        cell for row in list(csv.reader(io.StringIO(data.decode(), newline="")))[1:] for cell in row
    ]


def is_formula(cell):
    if not cell.strip().startswith(("=", "+", "-", "@")):
        return False
    try:
        return not [float(word) for word in cell.split()]
    except ValueError:
        return True


@pytest.mark.parametrize("word", hostile.WORDS)
def test_no_cell_of_a_table_is_a_formula(word):
    shown = "".join(sign if sign.isprintable() else " " for sign in word)
    listed = entry("a", file=word, status="refused", error=word)
    found = cells(summary_csv([listed]))
    assert not any(map(is_formula, found)) and sum(shown in cell for cell in found) >= 2
    try:
        pour = LoggedPour(number=1, date="2026-12-01", note=word, lots=(word,), photos=(word,))
    except ValueError:
        assert not word.isprintable() or len(word) > 1000
        return
    back = Withdrawal(number=2, of=1, why=word)
    found = cells(log_csv(CastLog(lines=(pour, back))))
    assert not any(map(is_formula, found)) and sum(shown in cell for cell in found) >= 4


def test_a_formula_can_be_told_from_a_direction():
    assert is_formula("-1+1") and is_formula("-1 =1") and not is_formula("-1 0 0.5")


@pytest.mark.parametrize("word", hostile.WORDS)
def test_an_error_is_one_line_that_a_terminal_only_shows(word):
    for line in (
        str(InputError(word, found=repr(word), need=word, do=word)),
        str(InputError("x", found=word, need="y", do="Z.").about(word)),
    ):
        assert line.isprintable() and len(line) < 20_000


@pytest.mark.parametrize("word", [hostile.TURNED, hostile.TERMINAL, hostile.LINES, "=1", "-x"])
def test_the_terminal_shows_names_of_files(word, tmp_path, monkeypatch, capsys):
    # What no file may be called goes; the rest may stand in any name that was downloaded.
    path = tmp_path / (word.replace("\0", "").replace("/", "") + ".stl")
    path.write_bytes(page_server.stl_of(shapes.box(40.0, 30.0, 20.0)))
    for words in (["check", str(path), "--units", "mm"], ["check", str(path) + "x"]):
        monkeypatch.setattr("sys.argv", ["castplan", *words])
        with pytest.raises(SystemExit):
            cli.main()
        told = capsys.readouterr()
        assert not set(told.out + told.err) & set(hostile.UNSHOWN)
