"""``castplan wall`` and ``castplan schema``."""

import json
from dataclasses import replace

import jsonschema
import pypdf
import pytest
from typer.testing import CliRunner

from castplan.cli import app
from castplan.errors import InputError
from castplan.materials import folder
from castplan.materials.cards import load_cards
from castplan.materials.sheet import card_text


@pytest.fixture
def run(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("CASTPLAN_HOME", str(tmp_path / "home"))
    return lambda *words: CliRunner().invoke(app, words, catch_exceptions=True)


@pytest.mark.parametrize(
    ("paper", "size_pt"),
    # ISO 216: 210 x 297 mm; ANSI/ASME Y14.1 size A: 8.5 x 11 in.
    [("A4", (210 * 72 / 25.4, 297 * 72 / 25.4)), ("Letter", (8.5 * 72, 11 * 72))],
)
def test_the_sheets_have_the_paper_asked_for(run, tmp_path, paper, size_pt):
    result = run("wall", "--out", "wall.pdf", "--paper", paper, "--cards", "silicone-tin-25a")
    assert result.exit_code == 0 and "1 card, " in result.stdout
    for page in pypdf.PdfReader(tmp_path / "wall.pdf").pages:
        size = [float(page.mediabox.width), float(page.mediabox.height)]
        assert size == pytest.approx(size_pt, abs=0.03)
    assert [path.name for path in tmp_path.iterdir()] == ["wall.pdf"]


def test_a_file_that_is_there_is_kept_unless_asked(run, tmp_path):
    (tmp_path / "wall.pdf").write_bytes(b"mine")
    result = run("wall", "--out", "wall.pdf", "--cards", "silicone-tin-25a")
    assert isinstance(result.exception, InputError)
    assert (tmp_path / "wall.pdf").read_bytes() == b"mine"
    assert (
        run("wall", "--out", "wall.pdf", "--cards", "silicone-tin-25a", "--replace").exit_code == 0
    )
    assert (tmp_path / "wall.pdf").read_bytes()[:5] == b"%PDF-"


def test_an_unknown_card_and_another_suffix_are_refused(run, tmp_path):
    for words in (("--out", "wall.pdf", "--cards", "silicone-tin-25"), ("--out", "wall.png")):
        assert isinstance(run("wall", *words).exception, InputError)
    assert list(tmp_path.iterdir()) == []


def test_the_shops_own_cards_come_first(run, tmp_path):
    own = replace(load_cards()["polyurethane-slow-75d"], card_id="ours", title="Ours", origin="own")
    folder.keep(folder.card_file("ours"), card_text(own))
    result = run("wall", "--out", "wall.pdf")
    assert result.exit_code == 0, result.exception
    assert result.stdout.startswith(f"{len(load_cards())} cards, ")
    text = pypdf.PdfReader(tmp_path / "wall.pdf").pages[0].extract_text()
    assert text.index("Ours") < text.index("Tin-cure silicone, 25 Shore A")


def test_the_schema_is_one_and_is_the_published_one(run):
    result = run("schema")
    schema = json.loads(result.stdout)
    jsonschema.Draft202012Validator.check_schema(schema)
    assert schema["$id"].startswith("urn:castplan:plan")
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({"schema": "something else"}, schema)
