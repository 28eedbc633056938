"""A translation is a file in the user's folder."""

from dataclasses import replace

import plan_folders
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


def test_the_printed_catalogue_is_a_translation(run, tmp_path):
    result = run("texts")
    assert result.exit_code == 0, result.exception
    texts.use_file(_saved(tmp_path, "en2", result.stdout))
    spoken = texts.spoken()
    data = {key: text for key, text in spoken.items() if key.startswith("data.")}
    assert {key: spoken[key] for key in spoken if key not in data} == texts.english()
    assert set(data.values()) == texts.data_words()
    assert all(key == f"data.{text}" for key, text in data.items())


def test_an_older_translation_is_brought_up_to_date(run, tmp_path):
    _saved(
        tmp_path,
        "de",
        '[wall]\nratio_title = "Misch\\"tafel"\n[data]\n"acrylic sheet" = "Acrylglas"\n',
    )
    result = run("--language", "de", "texts")
    assert result.exit_code == 0, result.exception
    texts.use_file(_saved(tmp_path, "de2", result.stdout))
    assert texts.say("wall.ratio_title") == 'Misch"tafel'
    assert texts.say_data("acrylic sheet") == "Acrylglas"
    assert len(texts.spoken()) == len(texts.english()) + len(texts.data_words())


def test_a_pour_is_called_by_its_code_or_as_the_sheets_call_it(run, tmp_path):
    plan = plan_folders.coarse_plan()
    second = replace(plan.bench.amounts.mixes[0], name="Second half")
    amounts = replace(plan.bench.amounts, mixes=(plan.bench.amounts.mixes[0], second))
    plan_folders.write(tmp_path, replace(plan, bench=replace(plan.bench, amounts=amounts)))
    _saved(tmp_path, "de", '[pour_name]\nsecond_half = "Zweite Seite"\n')
    for name in ("Second half", "Zweite Seite"):
        result = run("--language", "de", "mix", "--plan", str(tmp_path), "--pour", name)
        assert result.exit_code == 0, result.exception
        assert result.stdout.startswith("Zweite Seite:")
    result = run("--language", "de", "mix", "--plan", str(tmp_path), "--pour", "Dritte Seite")
    assert "one of First half, Zweite Seite" in str(result.exception)


def test_words_of_a_material_file_that_are_in_none_are_refused():
    with pytest.raises(ValueError, match=r"data\.unobtainium: no material file says so"):
        texts.use({"data.unobtainium": "x"})
    with pytest.raises(ValueError, match=r"data\.acrylic sheet: one text"):
        texts.use({"data.acrylic sheet": {"one": "x", "other": "y"}})


def _saved(folder, name, toml):
    path = folder / "home" / "texts" / f"{name}.toml"
    path.write_text(toml, encoding="utf-8")
    return path
