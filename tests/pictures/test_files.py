"""Pictures as files: same bytes, whole or nothing, one line for what cannot be used."""

import re
import subprocess
import sys

import matplotlib
import numpy as np
import pytest
from PIL import Image
from typer.testing import CliRunner

from castplan import cli, pictures, step_pictures
from castplan.errors import InputError, ResourceError
from castplan.pictures import write

HEADS = {".png": b"\x89PNG\r\n\x1a\n", ".svg": b"<?xml", ".pdf": b"%PDF-"}


@pytest.fixture(scope="module")
def folder(hook, tmp_path_factory):
    return hook.write(tmp_path_factory.mktemp("plan") / "hook plan")


def run(*arguments):
    return CliRunner().invoke(cli.app, ["picture", *map(str, arguments)])


@pytest.mark.parametrize(
    "suffix",
    [
        pytest.param(suffix, marks=() if suffix == ".svg" else pytest.mark.long)
        for suffix in write.SUFFIXES
    ],
)
def test_the_same_plan_gives_the_same_bytes(hook, tmp_path, suffix):
    for name in pictures.NAMES:
        paths = [tmp_path / f"{which}{suffix}" for which in ("one", "other")]
        write.write_picture(hook, name, paths[0])
        # Whatever the user has made matplotlib's defaults to be.
        with matplotlib.rc_context({"font.size": 22, "axes.facecolor": "black"}):
            write.write_picture(hook.record, name, paths[1])
        one, other = (path.read_bytes() for path in paths)
        assert one == other, name
        assert one.startswith(HEADS[suffix])
        assert not re.search(rb"CreationDate|dc:date|tIME", one)


@pytest.mark.long
def test_another_plan_gives_other_bytes(hook, grille, tmp_path):
    for name in pictures.NAMES:
        found = []
        for plan in (hook, grille):
            write.write_picture(plan, name, tmp_path / "one.png")
            found.append((tmp_path / "one.png").read_bytes())
        assert found[0] != found[1], name


def test_a_folder_gives_the_bytes_in_another_process_too(folder, tmp_path):
    path = tmp_path / "split.svg"
    result = run(folder, "split", "--out", path)
    assert result.exit_code == 0 and result.output == f"Wrote {path}\n"
    again = tmp_path / "again.svg"
    command = [sys.executable, "-m", "castplan", "picture", folder, "split", "--out", again]
    told = subprocess.run(command, capture_output=True, text=True, check=True)
    assert told.stderr == ""
    assert path.read_bytes() == again.read_bytes()


def test_a_file_that_is_there_stays_unless_told(folder, tmp_path):
    path = tmp_path / "fill.png"
    path.write_bytes(b"mine")
    error = run(folder, "fill", "--out", path).exception
    assert isinstance(error, InputError)
    assert "found a file, need a free name" in str(error)
    assert path.read_bytes() == b"mine"
    assert run(folder, "fill", "--out", path, "--replace").exit_code == 0
    with Image.open(path) as image:
        assert image.format == "PNG"


@pytest.mark.parametrize(
    ("name", "file", "said"),
    [
        ("cube", "a.png", "NAME: found 'cube', need one of split, heights, directions"),
        ("split", "a.jpg", "found the suffix '.jpg', need one of .png, .svg, .pdf"),
        ("split", "a", "found the suffix '', need one of .png, .svg, .pdf"),
        ("split", "none/a.png", "found no such folder"),
    ],
)
def test_what_cannot_be_used_is_one_line(folder, tmp_path, name, file, said):
    error = run(folder, name, "--out", tmp_path / file).exception
    assert isinstance(error, InputError)
    assert said in str(error) and "\n" not in str(error)
    assert list(tmp_path.iterdir()) == []


def test_a_folder_without_a_plan_is_named(tmp_path):
    error = run(tmp_path, "split", "--out", tmp_path / "a.png").exception
    assert isinstance(error, InputError)
    assert "no plan" in str(error)


def test_a_picture_is_whole_or_not_there(folder, tmp_path, monkeypatch):
    def half(plan, name, path):
        path.write_bytes(b"half of it")
        raise OSError(28, "No space left on device")

    path = tmp_path / "split.png"
    path.write_bytes(b"before")
    monkeypatch.setattr(write, "write_picture", half)
    error = run(folder, "split", "--out", path, "--replace").exception
    assert isinstance(error, ResourceError)
    assert [one.name for one in tmp_path.iterdir()] == ["split.png"]
    assert path.read_bytes() == b"before"


def test_the_command_knows_the_suffixes_of_the_writer(folder, tmp_path):
    for suffix in write.SUFFIXES:
        assert run(folder, "sizes", "--out", tmp_path / f"a{suffix.upper()}").exit_code == 0
    told = run("--help").output
    assert all(suffix in told for suffix in write.SUFFIXES)
    assert all(re.search(rf"^ *{name}  ", told, re.M) for name in pictures.NAMES)


def test_nothing_heavy_is_loaded_before_a_picture_is_drawn():
    ask = "import sys, castplan.pictures, castplan.cli; print('matplotlib' in sys.modules)"
    asked = [sys.executable, "-c", ask]
    assert subprocess.run(asked, capture_output=True, text=True).stdout == "False\n"
    ask = "import sys, castplan.pictures; castplan.pictures.draw_fill; "
    ask += "print('matplotlib' in sys.modules, 'matplotlib.pyplot' in sys.modules)"
    asked = [sys.executable, "-c", ask]
    assert subprocess.run(asked, capture_output=True, text=True).stdout == "True False\n"


def test_a_picture_that_is_none_is_no_name():
    with pytest.raises(AttributeError, match="draw_cube"):
        pictures.draw_cube  # noqa: B018
    assert {f"draw_{name}" for name in pictures.NAMES} <= set(dir(pictures))


@pytest.mark.parametrize("suffix", write.SUFFIXES)
def test_a_step_is_written_like_any_picture(hook, tmp_path, suffix):
    paths = [tmp_path / f"{which}{suffix}" for which in ("one", "other")]
    for path in paths:
        write.write_picture(hook, "step_lie", path)
    one, other = (path.read_bytes() for path in paths)
    assert one == other
    assert one.startswith(HEADS[suffix])
    if suffix == ".png":  # one for one
        pixels = step_pictures.draw_picture(hook.record, "lie").pixels
        assert np.array_equal(np.asarray(Image.open(paths[0]).convert("RGB")), pixels)


def test_a_step_that_the_plan_has_not_is_one_line(folder, tmp_path):
    result = run(folder, "step_bed", "--out", tmp_path / "bed.png")
    assert isinstance(result.exception, InputError)
    assert "need one of overview, lie" in str(result.exception)
    assert not list(tmp_path.iterdir())
