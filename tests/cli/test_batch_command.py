"""`castplan batch` as it is typed: one clear line, quiet logs, exit codes, Ctrl-C."""

import importlib.util
import io
import os
import signal
import sys

import batch_parts
import pytest

from castplan import cli, texts
from castplan.batch import cluster
from castplan.batch.outcome import Outcome
from castplan.cli import batch


@pytest.fixture
def run(monkeypatch, capsys):
    """Run the command line in this process: exit code, stdout, stderr."""

    def run(*arguments):
        monkeypatch.setattr(sys, "argv", ["castplan", "batch", *map(str, arguments)])
        with pytest.raises(SystemExit) as ended:
            cli.main()
        captured = capsys.readouterr()
        return ended.value.code or 0, captured.out, captured.err

    return run


@pytest.fixture
def planned(monkeypatch):
    """Let workers be quick: every order is planned at once. Collects the orders."""
    orders, settings = [], []

    def run_orders(wanted, how, *, is_wanted):
        settings.append(how)
        for order in wanted:
            if not is_wanted():
                return
            if order.name == "presses-ctrl-c":
                os.kill(os.getpid(), signal.SIGINT)
            orders.append(order)
            digest = batch_parts.DIGEST | {
                "verdict": "locked" if "locked" in order.name else "flexes out"
            }
            yield order, Outcome(status="planned", files=(("plan.json", b"{}"),), digest=digest)

    monkeypatch.setattr(cluster, "run_orders", run_orders)
    return orders, settings


@pytest.fixture
def parts(tmp_path):
    folder = tmp_path / "parts"
    folder.mkdir()
    for name in ("a", "b", "c"):
        batch_parts.write_box(folder, name)
    return folder


def test_without_the_extra_it_says_what_to_install(run, parts, tmp_path, monkeypatch):
    found = importlib.util.find_spec
    monkeypatch.setattr(
        importlib.util, "find_spec", lambda name: None if name == "distributed" else found(name)
    )
    code, out, err = run(parts, "--out", tmp_path / "out")
    assert (code, out) == (2, "")
    assert err.count("\n") == 1 and "pip install 'castplan[batch]'" in err
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("arguments", "reason"),
    [
        (["--out", "o"], "found no parts"),
        (["parts"], "found no --out"),
        (["nowhere", "--out", "o"], "nowhere: found no folder"),
        (["parts", "--out", "o", "--limit-s", "0"], "--limit-s"),
        (["parts", "--out", "o", "--workers", "0"], "--workers"),
        (["parts", "--out", "o", "--gate", "-1"], "--gate"),
        (["parts", "--out", "o", "--pot", "240"], "--pot"),
        (["--compare", "parts", "parts"], "found no batch's results"),
    ],
)
def test_what_cannot_be_used_is_one_clear_line(run, parts, monkeypatch, arguments, reason):
    monkeypatch.chdir(parts.parent)
    code, out, err = run(*arguments)
    assert (code, out) == (2, "")
    assert reason in err and err.count("\n") == 1
    assert not (parts.parent / "o").exists()


def test_a_run_says_what_came_of_it_and_is_quiet_in_a_log(run, planned, parts, tmp_path):
    (parts / "torn.stl").write_bytes(b"")
    (parts / "torn.toml").write_text("[plan]\nshine = 3\n")
    code, out, err = run(parts, "--units", "mm", "--out", tmp_path / "out", "--copies", 2)
    assert (code, err) == (0, "")
    lines = out.splitlines()
    assert lines[0].startswith("torn: no plan. torn.toml: found 'shine'")
    assert lines[1].startswith("3 of 4 parts planned: 0 ready, 3 with a warning")
    assert lines[-2:] == [
        f"Page: {tmp_path / 'out' / 'index.html'}",
        f"Table: {tmp_path / 'out' / 'summary.csv'}",
    ]
    orders, settings = planned
    assert [order.name for order in orders] == ["a", "b", "c"]
    assert {(order.unit, order.job.copies) for order in orders} == {("mm", 2)}
    assert settings[0].limits.seconds == batch.LIMIT_S
    # Again, with a part more and one taken away: that one is planned, this one told.
    batch_parts.write_box(parts, "d")
    (parts / "a.stl").unlink()
    _, out, _ = run(parts, "--units", "mm", "--out", tmp_path / "out", "--copies", 2)
    assert [order.name for order in orders[3:]] == ["d"]
    assert "2 of them stood already." in out
    assert "Left from earlier runs, not listed: a." in out


def test_another_language_plans_again_and_travels_with_each_part(
    run, planned, parts, tmp_path, shop_folder, monkeypatch
):
    (shop_folder / "texts").mkdir(parents=True)
    (shop_folder / "texts" / "xx.toml").write_text('[parts_page]\nfind = "Wo"\n', "utf-8")
    out = tmp_path / "out"
    run(parts, "--units", "mm", "--out", out)
    monkeypatch.setenv("CASTPLAN_LANGUAGE", "xx")
    try:
        run(parts, "--units", "mm", "--out", out)
    finally:
        texts.use({})
    orders, _ = planned
    assert [(order.name, order.texts) for order in orders] == [
        *((name, b"") for name in "abc"),
        *((name, b'{"parts_page.find": "Wo"}') for name in "abc"),
    ]
    assert ">Wo</label>" in (out / "index.html").read_text("utf-8")


def test_ctrl_c_keeps_what_is_finished(run, planned, parts, tmp_path):
    batch_parts.write_box(parts, "presses-ctrl-c")
    batch_parts.write_box(parts, "q")
    before = signal.getsignal(signal.SIGINT)
    code, out, err = run(parts, "--units", "mm", "--out", tmp_path / "out")
    assert code == batch.STOPPED_CODE
    assert "4 of 5 parts planned" in out and "1 not tried yet" in out
    assert err == "Stopped. Run it again to go on from here.\n"
    assert signal.getsignal(signal.SIGINT) == before
    code, _, _ = run(parts, "--units", "mm", "--out", tmp_path / "out")
    assert code == 0
    assert [order.name for order in planned[0]] == ["a", "b", "c", "presses-ctrl-c", "q"]


def test_compare_ends_with_five_where_a_verdict_changed(run, planned, parts, tmp_path):
    for out in ("one", "two"):
        run(parts, "--units", "mm", "--out", tmp_path / out)
    assert run("--compare", tmp_path / "one", tmp_path / "two") == (
        0,
        "3 verdicts are unchanged, 0 changed.\n",
        "",
    )
    batch_parts.write_box(parts, "locked")
    run(parts, "--units", "mm", "--out", tmp_path / "two")
    code, out, _ = run("--compare", tmp_path / "one", tmp_path / "two")
    assert code == batch.CHANGED_CODE
    assert out.splitlines()[0] == "Only in the second: locked"


def test_a_terminal_sees_rate_and_time_left(monkeypatch):
    terminal = io.StringIO()
    terminal.isatty = lambda: True
    monkeypatch.setattr(sys, "stderr", terminal)
    with batch._Progress() as progress:
        progress(0, 2)
        progress(1, 2)
    shown = terminal.getvalue()
    assert shown.startswith("\r0 of 2 parts\r1 of 2 parts, ") and shown.endswith(" left\n")


@pytest.mark.parametrize(
    ("n_done", "elapsed_s", "text"),
    [
        (0, 5.0, "0 of 200 parts"),
        (12, 24.0, "12 of 200 parts, 30 a minute, 6 min left"),
        (199, 398.0, "199 of 200 parts, 30 a minute, 2 s left"),
        (2, 200.0, "2 of 200 parts, 0.6 a minute, 5.5 h left"),
    ],
)
def test_time_left_follows_the_rate(n_done, elapsed_s, text):
    assert batch.progress_text(n_done, 200, elapsed_s=elapsed_s) == text
