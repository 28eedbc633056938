"""``castplan serve``: whom it serves, what it says, how it stops."""

import json
import os
import re
import signal
import subprocess
import sys
import urllib.request
from pathlib import Path

import pytest

HOME = Path(__file__).parents[2]
CASTPLAN = [sys.executable, "-m", "castplan"]
GERMAN = """
[language]
code = "de"
[page]
skip = "Zu den <Karten>"
saved = "Ist </script> da"
"""
SERVE = ["serve", "--no-browser"]


def start(folder, *before):
    """A server in a process of its own, and the address that it says."""
    process = subprocess.Popen(
        [*CASTPLAN, *before, *SERVE],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        cwd=HOME,
        env={**os.environ, "CASTPLAN_HOME": str(folder)},
    )
    line = process.stdout.readline()
    found = re.fullmatch(r"castplan is at (http://\S+/) \(stop it with Ctrl-C\)\n", line)
    if not found:
        process.kill()
        raise AssertionError(line + process.communicate()[1])
    return process, found.group(1)


def run(folder, *options):
    """What a server that does not start says."""
    return subprocess.run(
        [*CASTPLAN, *SERVE, *options],
        capture_output=True,
        text=True,
        cwd=HOME,
        env={**os.environ, "CASTPLAN_HOME": str(folder)},
        timeout=120,
    )


@pytest.mark.long
@pytest.mark.skipif(os.name != "posix", reason="signals are POSIX's")
def test_it_serves_says_where_and_stops_quietly_at_ctrl_c(tmp_path):
    process, address = start(tmp_path)
    try:
        assert re.fullmatch(r"http://localhost:\d+/", address)
        with urllib.request.urlopen(address, timeout=30) as page:
            assert b"<title>castplan</title>" in page.read()
        # On the same jobs a second one is refused in one line; on another port too.
        second = run(tmp_path)
        assert second.returncode == 4
        assert "another castplan serve has open" in second.stderr
        taken = run(tmp_path / "other", "--port", address.rstrip("/").rpartition(":")[2])
        assert taken.returncode == 4
        assert "--port" in taken.stderr
        for answer in (second, taken):
            assert (answer.stderr.count("\n"), answer.stdout) == (1, "")
    finally:
        process.send_signal(signal.SIGINT)
        said, complained = process.communicate(timeout=60)
    assert (process.returncode, said, complained) == (0, "", "")


@pytest.mark.skipif(os.name != "posix", reason="signals are POSIX's")
def test_it_serves_in_the_language_that_is_asked_for(tmp_path):
    (tmp_path / "texts").mkdir()
    (tmp_path / "texts" / "de.toml").write_text(GERMAN, encoding="utf-8")
    process, address = start(tmp_path, "--language", "de")
    try:
        with urllib.request.urlopen(address, timeout=30) as page:
            told = page.read().decode("utf-8")
    finally:
        process.send_signal(signal.SIGINT)
        process.communicate(timeout=60)
    assert '<html lang="de">' in told
    assert ">Zu den &lt;Karten&gt;</a>" in told
    (data,) = re.findall(r'<script type="application/json" id="texts">(.*?)</script>', told)
    said = json.loads(data)
    assert said["page.saved"] == "Ist </script> da"
    assert said["page.print"] == "Print"  # which the translation lacks


@pytest.mark.long
def test_beyond_this_computer_it_needs_a_password(tmp_path):
    refused = run(tmp_path, "--host", "0.0.0.0")
    assert refused.returncode == 2
    assert "--password-file" in refused.stderr
    assert refused.stdout == ""
    short = tmp_path / "door.txt"
    short.write_text("kurz\n", encoding="utf-8")
    told = run(tmp_path, "--host", "0.0.0.0", "--password-file", str(short))
    assert told.returncode == 2
    assert "need at least 8" in told.stderr
    gone = run(tmp_path, "--host", "0.0.0.0", "--password-file", str(tmp_path / "no.txt"))
    assert gone.returncode == 2
    assert not (tmp_path / "jobs").exists()


def test_a_name_is_no_address(tmp_path):
    refused = run(tmp_path, "--host", "shop.example")
    assert refused.returncode == 2
    assert "need an address of this computer" in refused.stderr
