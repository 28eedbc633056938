"""A translation is a file in the user's folder."""

import pypdf
import pytest
from typer.testing import CliRunner

from castplan import texts
from castplan.cli import app
from castplan.errors import InputError


@pytest.fixture
def run(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("CASTPLAN_HOME", str(tmp_path / "home"))
    (tmp_path / "home" / "texts").mkdir(parents=True)
    yield lambda *words, **env: CliRunner().invoke(app, words, env=env)
    texts.use({})


WALL = ("wall", "--out", "wall.pdf", "--cards", "silicone-tin-25a", "--replace")


def first_page(folder):
    return pypdf.PdfReader(folder / "wall.pdf").pages[0].extract_text()


@pytest.mark.parametrize("way", ["option", "environment"])
def test_sheets_speak_the_language_of_the_file(run, tmp_path, way):
    german = '[wall]\nratio_title = "Mischtafel"\n'
    (tmp_path / "home" / "texts" / "de.toml").write_text(german, encoding="utf-8")
    if way == "option":
        result = run("--language", "de", *WALL)
    else:
        result = run(*WALL, CASTPLAN_LANGUAGE="de")
    assert result.exit_code == 0, result.exception
    assert first_page(tmp_path).startswith("Mischtafel")
    # What it lacks is English, and so is the next start without it.
    assert "By weight, never by volume" in first_page(tmp_path)
    assert run(*WALL).exit_code == 0
    assert first_page(tmp_path).startswith("Ratio chart")


@pytest.mark.parametrize("toml", [None, "[wall]\nno_such = 'x'\n", "wall = 'x'\n", "[wall"])
def test_a_file_that_is_missing_or_does_not_fit_is_one_line(run, tmp_path, toml):
    if toml is not None:
        (tmp_path / "home" / "texts" / "xx.toml").write_text(toml, encoding="utf-8")
    result = run("--language", "xx", *WALL)
    assert isinstance(result.exception, InputError)
    assert not (tmp_path / "wall.pdf").exists()
