"""What is named as a file and is none: a pipe, a device, a folder.

What an operating system does with them is POSIX's; that castplan waits for none is its own
promise. There are no such files on Windows, where a name of theirs cannot be made.
"""

import os
import threading

import pytest

from castplan import cli, ordinary
from castplan.errors import InputError, ResourceError
from castplan.materials.shop import load_shop
from castplan.part.load import read_part


@pytest.fixture(params=["a pipe", "a device without end"])
def odd(request, tmp_path):
    """Makes a file of a name, which is no ordinary one."""

    def odd(name):
        path = tmp_path / name
        if request.param == "a pipe":
            os.mkfifo(path)
        else:
            path.symlink_to("/dev/zero")
        return path

    return odd


def ended(work):
    """What a piece of work raises, which must come at once."""
    found = []

    def run():
        try:
            work()
        except BaseException as error:
            found.append(error)

    thread = threading.Thread(target=run, daemon=True)
    thread.start()
    thread.join(20)
    assert found, "it waits"
    return found[0]


def test_a_pipe_for_a_part_is_refused_at_once(odd):
    found = ended(lambda: read_part(odd("part.stl"), unit="mm"))
    assert isinstance(found, ResourceError) and "a pipe or a device, no file" in str(found)


def test_a_pipe_for_a_shop_or_a_list_is_refused_at_once(odd, monkeypatch, capsys):
    found = ended(lambda: load_shop(odd("shop.toml")))
    assert isinstance(found, InputError) and "a pipe or a device, no file" in str(found)
    sheet = str(odd("sheet.toml"))
    monkeypatch.setattr("sys.argv", ["castplan", "materials", "add", "ours", "--from", sheet])
    assert ended(cli.main).code == 2
    assert "no sheet that can be read" in capsys.readouterr().err


def test_a_text_is_no_larger_than_anybody_writes(tmp_path, monkeypatch):
    path = tmp_path / "shop.toml"
    path.write_bytes(b"a = 1\r\nb = 2\r")
    assert ordinary.read_text(path) == "a = 1\nb = 2\n"
    monkeypatch.setattr(ordinary, "MOST_TEXT_BYTES", 5)
    with pytest.raises(OSError, match="File too large"):
        ordinary.read_text(path)


def test_what_is_not_there_and_a_folder_are_told_apart(tmp_path):
    with pytest.raises(FileNotFoundError):
        ordinary.read_bytes(tmp_path / "none")
    with pytest.raises(OSError):
        ordinary.read_bytes(tmp_path)
