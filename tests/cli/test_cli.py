"""What a user types and what comes back: text, exit codes, files."""

import io
import os
import re
import subprocess
import sys

import numpy as np
import pytest
import shapes
import trimesh

import castplan.door
from castplan import cli, ordinary
from castplan.cli import first_start
from castplan.cli.progress import Progress
from castplan.files import write
from castplan.part import load, read
from castplan.part.health import examine
from castplan.records import Job
from castplan.words import health as health_view
from castplan.words import mesh as mesh_view

# Sources: the exit codes are those drawn in castplan/errors.py; the bodies'
# sizes are the closed forms of `shapes`.


def write_stl(folder, vertices_mm, faces, name="coat_hook.stl"):
    path = folder / name
    path.write_bytes(trimesh.Trimesh(vertices_mm, faces, process=False).export(file_type="stl"))
    return path


@pytest.fixture
def part_path(tmp_path):
    body = shapes.hook()
    return write_stl(tmp_path, body.vertices_mm, body.faces)


@pytest.fixture
def run(monkeypatch, capsys):
    """Run the command line in this process: exit code, stdout, stderr."""

    def run(*arguments):
        monkeypatch.setattr(sys, "argv", ["castplan", *map(str, arguments)])
        with pytest.raises(SystemExit) as ended:
            cli.main()
        captured = capsys.readouterr()
        return ended.value.code or 0, captured.out, captured.err

    return run


@pytest.fixture
def planned(monkeypatch):
    """Replace planning and writing; collects what they are called with."""
    calls = {}

    def build_plan(part, job, *, progress):
        calls.update(part=part, job=job)
        progress("draw", 0.0)
        progress("draw", 0.5)
        progress("air", 0.0)
        return "a plan"

    def write_plan(plan, out_dir, *, replace, bodies, scene, log_from, progress):
        calls.update(plan=plan, out_dir=out_dir, replace=replace, scene=scene)
        progress("write", 1.0)

    monkeypatch.setattr(castplan.door, "build_plan", build_plan)
    monkeypatch.setattr(castplan.door.plan_folder, "as_kept", lambda plan: plan)
    monkeypatch.setattr(castplan.door, "build_scene", lambda plan: f"surfaces of {plan}")
    monkeypatch.setattr(write, "write_plan", write_plan)
    monkeypatch.setattr(
        castplan.door, "summary_lines", lambda plan: [f"{plan}, line {n}" for n in "12345"]
    )
    return calls


def test_version(run):
    assert run("--version") == (0, f"castplan {castplan.__version__}\n", "")


@pytest.mark.parametrize("arguments", [["--help"], ["plan", "--help"], ["check", "--help"]])
def test_help_shows_an_example_and_the_exit_codes(run, arguments):
    code, out, err = run(*arguments)
    assert (code, err) == (0, "")
    assert "  castplan " in out
    for number in ("0", "2", "3", "4"):
        assert re.search(rf"^ +{number}  \w", out, flags=re.MULTILINE)


def lines_of(part, *, inches):
    """What ``check`` has to say of a part."""
    lines = mesh_view.check_lines(part.check, inches=inches)
    return lines + health_view.health_lines(part.check, examine(part))


def test_check_says_what_the_file_holds(run, part_path):
    code, out, err = run("check", part_path, "--units", "mm")
    assert (code, err) == (0, "")
    part = load.load_part(part_path, unit="mm")
    assert out.splitlines() == lines_of(part, inches=False)


def test_a_part_in_inches_is_told_in_inches(run, part_path):
    _, out, _ = run("check", part_path, "--units", "in")
    part = load.load_part(part_path, unit="in")
    assert out.splitlines() == lines_of(part, inches=True)


def test_without_options_the_job_keeps_its_defaults(run, planned, part_path, tmp_path):
    code, out, _ = run("plan", part_path, "--units", "mm", "--out", tmp_path / "plan")
    assert code == 0
    assert out.splitlines() == [f"a plan, line {n}" for n in "12345"]
    assert vars(planned["job"]) == vars(Job())
    assert planned["plan"] == "a plan"
    assert (planned["out_dir"], planned["replace"]) == (tmp_path / "plan", False)
    # The box of a hook: reach, length, height.
    assert planned["part"].check.extent_mm == pytest.approx((40.0, 20.0, 60.0))


# (option, what is typed, field of Job, its value): one row for every option of
# `plan` that is a choice of the job.
OPTIONS = [
    ("--draw", "0,1,0.5", "draw", (0.0, 1.0, 0.5)),
    ("--up", "-z", "up", (0.0, 0.0, -1.0)),
    ("--pitch", "0.8", "pitch_mm", 0.8),
    ("--wall", "11", "wall_mm", 11.0),
    ("--over", "13", "over_mm", 13.0),
    ("--under", "14", "under_mm", 14.0),
    ("--silicone", "some-silicone", "silicone", "some-silicone"),
    ("--resin", "some-resin", "resin", "some-resin"),
    ("--copies", "7", "copies", 7),
    ("--vent-height", "0", "vent_min_height_mm", 0.0),
    ("--vent-air", "0.5", "vent_min_air_ml", 0.5),
    ("--max-vents", "3", "max_vents", 3),
    ("--air-left", "0.5", "air_left_ml", 0.5),
    ("--vent-pitch", "40", "vent_pitch_mm", 40.0),
    ("--gate", "6", "gate_mm", 6.0),
    ("--feed", "riser", "feed", "riser"),
    ("--vent", "10,0,24.5", "vents_at", ((10.0, 0.0, 24.5),)),
    ("--keep-off", "10,0,24.5,8", "keep_off", ((10.0, 0.0, 24.5, 8.0),)),
    ("--temperature", "19.5", "shop_temperature_c", 19.5),
    ("--paper", "letter", "paper", "Letter"),
    ("--show-face", "+z", "show_face", (0.0, 0.0, 1.0)),
    ("--mould", "two-part", "mould", "two-part"),
    ("--slides", "printed", "slides", "printed"),
    ("--parting", "following", "parting", "following"),
    ("--parting-height", "4", "parting_height_mm", 4.0),
    ("--box", "round", "box", "round"),
    ("--box-step", "5", "box_step_mm", 5.0),
    ("--board", "9", "board_mm", 9.0),
    ("--kerf", "0.2", "kerf_mm", 0.2),
    ("--key", "10", "key_mm", 10.0),
    ("--key-pitch", "20", "key_pitch_mm", 20.0),
    ("--key-clearance", "5", "key_clearance_mm", 5.0),
    ("--bed", "printed", "bed", "printed"),
    ("--bed-clearance", "0.4", "bed_clearance_mm", 0.4),
    ("--printer", "200,210,180", "printer_mm", (200.0, 210.0, 180.0)),
    ("--pot", "240,300", "pot_mm", (240.0, 300.0)),
    ("--chamber", "250,200", "chamber_mm", (250.0, 200.0)),
    ("--scale-max", "5000", "scale_max_g", 5000.0),
    ("--water", "118ml", "water_ml", 118.0),
    ("--brush-coat", "1.5", "brush_mm", 1.5),
    ("--pigment", "2", "pigment_fraction", 0.02),
    ("--filler", "150", "filler_fraction", 1.5),
    ("--filler-kind", "quartz", "filler", "quartz"),
    ("--inserts", "4", "inserts", 4),
    ("--place", "shade", "place", "shade"),
    ("--start", "2026-12-01 08:00", "start", "2026-12-01 08:00"),
]


@pytest.mark.parametrize(("option", "text", "field", "value"), OPTIONS)
def test_an_option_sets_one_choice_of_the_job(
    run, planned, part_path, tmp_path, option, text, field, value
):
    arguments = ["plan", part_path, "--units", "mm", "--out", tmp_path / "plan", option, text]
    assert run(*arguments)[0] == 0
    assert vars(planned["job"]) == vars(Job()) | {field: value}
    assert vars(planned["job"]) != vars(Job())


def test_every_option_has_its_row(run):
    _, out, _ = run("plan", "--help")
    offered = set(re.findall(r"^ +(--[a-z-]+)", out, flags=re.MULTILINE))
    # test_bench_commands.py has those that make records; the others read or write.
    elsewhere = {"--original-weight", "--original-density", "--gauge", "--shop", "--uses"}
    elsewhere |= {"--measured", "--thickness", "--close-to-plane", "--yes", "--solids"}
    elsewhere |= {"--with", "--limit-s", "--memory-mb"}  # tests/cli/test_ceiling.py
    offered -= elsewhere
    assert offered - {"--out", "--units", "--replace", "--help"} == {row[0] for row in OPTIONS}


def test_replace_is_passed_on(run, planned, part_path, tmp_path):
    run("plan", part_path, "--units", "mm", "--out", tmp_path / "plan", "--replace")
    assert planned["replace"] is True


def test_the_defaults_in_the_help_are_the_jobs(run):
    _, out, _ = run("plan", "--help")
    text = " ".join(out.split())
    job = vars(Job())
    stated = dict(
        re.findall(
            r"(--[a-z-]+) (?:[A-Z,]+|<[^>]+>|\[[^\]]+\]) (?:(?! --).)*? Default (\S+)\.(?= )", text
        )
    )
    fields = {option: field for option, _, field, _ in OPTIONS}

    def told(value):
        if isinstance(value, tuple):
            return ",".join(map(told, value))
        return f"{value:g}" if isinstance(value, int | float) else value

    del stated["--limit-s"]  # of the command, not of the job
    assert stated == {
        option: told(job[field]) for option, field in fields.items() if job[field] is not None
    }


@pytest.mark.parametrize(
    ("text", "direction"),
    [
        ("x", (1, 0, 0)),
        ("+y", (0, 1, 0)),
        ("-Z", (0, 0, -1)),
        (" 1, -2 ,3e0", (1, -2, 3)),
        ("-1,0,0", (-1, 0, 0)),
    ],
)
def test_directions_that_are_read(run, planned, part_path, tmp_path, text, direction):
    run("plan", part_path, "--units", "mm", "--out", tmp_path / "plan", "--draw", text)
    assert planned["job"].draw == direction


@pytest.mark.parametrize("option", ["--draw", "--up"])
@pytest.mark.parametrize(
    "text", ["0,0,0", "1,2", "1,2,3,4", "nan,0,1", "0,inf,0", "up", "", "1;2;3", "+w", "1,,2"]
)
def test_directions_that_are_none(run, planned, part_path, tmp_path, option, text):
    code, out, err = run("plan", part_path, "--units", "mm", "--out", tmp_path / "p", option, text)
    assert (code, out) == (2, "")
    assert err.startswith(f"{option}: found {text!r}, need three numbers")
    assert err.count("\n") == 1
    assert not planned


@pytest.mark.parametrize("text", ["nan", "inf", "-1"])
@pytest.mark.parametrize(
    "option", ["--pitch", "--wall", "--over", "--under", "--vent-height", "--vent-air"]
)
def test_numbers_out_of_their_limits(run, planned, part_path, tmp_path, option, text):
    code, out, err = run("plan", part_path, "--units", "mm", "--out", tmp_path / "p", option, text)
    assert (code, out) == (2, "")
    assert err.startswith(f"{option}: found {text}, need a")  # number, or at least so much
    assert err.count("\n") == 1
    assert not planned


@pytest.mark.parametrize(("option", "text"), [("--copies", "0"), ("--pitch", "0"), ("--over", "0")])
def test_nothing_is_not_enough(run, planned, part_path, tmp_path, option, text):
    code, _, err = run("plan", part_path, "--units", "mm", "--out", tmp_path / "p", option, text)
    assert (code, err.count("\n")) == (2, 1)
    assert not planned


def test_each_error_has_its_exit_code_and_one_line(run, tmp_path, part_path, monkeypatch):
    flat = write_stl(tmp_path, np.eye(3) * [1, 1, 0], [[0, 1, 2]], "flat.stl")
    assert run("check", tmp_path / "absent.stl", "--units", "mm")[0] == 2
    code, out, err = run("check", part_path)
    assert (code, out, err.count("\n")) == (2, "", 1)
    assert "60.0 mm, about a matchbox, or" in err
    code, out, err = run("check", flat, "--units", "mm")
    assert (code, out, err.count("\n")) == (3, "", 1)

    def refuse(path, **most):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(ordinary, "read_bytes", refuse)
    code, out, err = run("check", part_path, "--units", "mm")
    assert (code, out, err.count("\n")) == (4, "", 1)


@pytest.mark.parametrize("suffix", read.FORMATS)
def test_a_parser_that_stumbles_adds_nothing_to_the_line(run, tmp_path, suffix):
    path = tmp_path / f"rubbish.{suffix}"
    path.write_bytes(b"ply\nOFF\nsolid\nv 1 2\nf 1 2 3\n" * 30)
    code, out, err = run("check", path, "--units", "mm")
    assert (code, out, err.count("\n")) == (2, "", 1)


def test_memory_that_runs_out_is_told(run, part_path, monkeypatch):
    def hoard(*args, **kwargs):
        raise MemoryError

    monkeypatch.setattr(mesh_view, "check_lines", hoard)
    code, _, err = run("check", part_path, "--units", "mm")
    assert (code, err.count("\n")) == (4, 1)
    assert "too little memory" in err


def test_a_bug_is_one_line_and_keeps_its_traceback_on_demand(run, monkeypatch, part_path):
    def stumble(*args, **kwargs):
        raise ZeroDivisionError("a bug")

    monkeypatch.setattr(mesh_view, "check_lines", stumble)
    code, out, err = run("check", part_path, "--units", "mm")
    assert (code, out, err.count("\n")) == (1, "", 1)
    assert "a fault of its own (ZeroDivisionError: a bug" in err
    monkeypatch.setenv("CASTPLAN_TRACEBACK", "1")
    monkeypatch.setattr(sys, "argv", ["castplan", "check", str(part_path), "--units", "mm"])
    with pytest.raises(ZeroDivisionError, match="a bug"):
        cli.main()


def test_a_taken_name_is_refused_before_any_work(run, planned, part_path, tmp_path, monkeypatch):
    def never(*args, **kwargs):
        raise AssertionError("the part was read")

    monkeypatch.setattr(load, "load_part", never)
    (tmp_path / "taken").mkdir()
    code, _, err = run("plan", part_path, "--units", "mm", "--out", tmp_path / "taken")
    assert (code, err.count("\n")) == (2, 1)
    assert not planned


@pytest.mark.parametrize("arguments", [["plan"], ["check"], ["nonsense"], ["check", "a", "--no"]])
def test_a_wrong_call_ends_with_two(run, arguments):
    code, out, err = run(*arguments)
    assert (code, out) == (2, "")
    assert "Usage: castplan" in err


def test_a_log_gets_one_line_for_each_stage(run, planned, part_path, tmp_path, monkeypatch):
    monkeypatch.setattr(first_start, "is_compiled", lambda: True)
    _, _, err = run("plan", part_path, "--units", "mm", "--out", tmp_path / "plan")
    lines = err.splitlines()
    assert [line.split()[0] for line in lines] == ["load", "draw", "air", "view", "write"]
    assert all(re.fullmatch(r"\w+ \d+\.\d s", line) for line in lines)


def test_a_terminal_gets_a_line_that_is_written_over(monkeypatch):
    class Terminal(io.StringIO):
        def isatty(self):
            return True

    monkeypatch.setattr(sys, "stderr", terminal := Terminal())
    with Progress() as progress:
        progress("draw", 0.0)
        progress("draw", 0.5)
        progress("air", 0.0)
    shown = re.sub(r"\d+\.\d s", "T s", terminal.getvalue())
    assert shown == "\rdraw   0 %\rdraw  50 %\rdraw T s  \n\rair   0 %\rair T s  \n"


@pytest.mark.parametrize("is_kept", [False, True])
def test_the_first_start_is_announced(run, planned, part_path, tmp_path, monkeypatch, is_kept):
    cache = tmp_path / "cache"
    (cache / "columns").mkdir(parents=True)
    if is_kept:
        name = f"raster.scan-1.py{sys.version_info.major}{sys.version_info.minor}.nbi"
        (cache / "columns" / name).touch()
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(cache))
    _, _, err = run("plan", part_path, "--units", "mm", "--out", tmp_path / "plan")
    assert ("first start: compiling, up to 20 s, kept for next time\n" in err) is not is_kept


@pytest.mark.long
def test_a_real_part_goes_all_the_way(run, part_path, tmp_path):
    out_dir = tmp_path / "plan"
    arguments = ["plan", part_path, "--units", "mm", "--out", out_dir, "--draw", "+y"]
    arguments += ["--mould", "two-part"]
    code, out, err = run(*arguments, "--pitch", "1")
    assert code == 0, err
    assert len(out.splitlines()) == 5
    assert {"plan.json", "sheets.pdf"} <= {path.name for path in out_dir.iterdir()}
    assert (out_dir / "sheets.pdf").read_bytes().startswith(b"%PDF-")
    first = (out_dir / "plan.json").read_bytes()
    code, again, _ = run(*arguments, "--pitch", "1", "--replace")
    assert (code, again) == (0, out)
    assert (out_dir / "plan.json").read_bytes() == first
    assert (tmp_path / "plan.previous" / "plan.json").read_bytes() == first


def test_python_dash_m_and_a_code_page_without_the_sign(tmp_path):
    result = subprocess.run(
        [sys.executable, "-m", "castplan", "check", "Türgriff.stl"],
        capture_output=True,
        cwd=tmp_path,
        env=os.environ | {"PYTHONIOENCODING": "ascii", "PYTHONUTF8": "1"},
        check=False,
    )
    assert result.returncode == 2
    assert result.stderr.splitlines() == [
        b"T?rgriff.stl: found no such file, need a mesh file. Check the path."
    ]
