"""Which parts a batch is about, and which options reach each of them.

Lists and names are invented here.
"""

import csv
from pathlib import Path

import batch_parts
import hostile
import pytest
from batch_parts import EASY

from castplan.batch import run
from castplan.batch.cluster import Settings
from castplan.batch.store import Store
from castplan.cli import batch_list
from castplan.cli.batch_list import list_parts, options, read_choices, read_orders
from castplan.errors import InputError
from castplan.records import Job

SAMPLES = Path(__file__).parents[2] / "sample_parts"


def told(**choices):
    """What the command line would hand over: every option, most of them not given."""
    return {name: parameter.default for name, parameter in options().items()} | choices


def write(path, text):
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text)
    return path


@pytest.fixture
def out(tmp_path):
    return tmp_path / "out"


def test_the_samples_state_their_units_beside_them(out):
    orders = read_orders(SAMPLES, told(), out=out)
    assert [order.name for order in orders] == sorted(p.stem for p in SAMPLES.glob("*.stl"))
    assert {order.unit for order in orders} == {"mm"}
    assert all(not order.wrong and vars(order.job) == vars(Job()) for order in orders)


def test_what_is_nearer_to_a_part_wins(tmp_path, out):
    for name in ("a", "b", "c"):
        batch_parts.write_box(tmp_path, name)
    write(tmp_path / "b.toml", 'units = "in"\nname = "b"\n[plan]\ncopies = 3\nyes = true\n')
    write(tmp_path / "c.toml", 'units = "in"\n[plan]\ncopies = 3\nyes = true\ngate = 6\n')
    listed = write(
        tmp_path / "list.csv",
        "file,name,copies,units,yes,gauge\na.stl,,,,,\nb.stl,bee,,,,\nc.stl,,5,cm,no,shaft=12.7mm:m\n",
    )
    a, b, c = read_orders(listed, told(units="mm", copies=2, gate=9.0), out=out)
    assert (a.name, a.unit, a.job.copies, a.job.gate_mm) == ("a", "mm", 2, 9.0)
    assert (b.name, b.unit, b.job.copies, b.is_size_meant) == ("bee", "in", 3, True)
    assert (c.name, c.unit, c.job.copies, c.job.gate_mm) == ("c", "cm", 5, 6.0)
    assert c.is_size_meant is False
    assert [gauge.name for gauge in c.job.gauges] == ["shaft"]


def test_every_option_of_a_plan_can_stand_in_a_list():
    for name, parameter in options().items():
        if isinstance(parameter.default, bool):
            assert read_choices({name: "yes"}, where="w") == {name: True}
    assert read_choices({"show-face": "+z", "parting": "LEVEL"}, where="w") == {
        "show_face": "+z",
        "parting": "level",
    }
    assert read_choices({"gauge": ["a=1", "b=2"]}, where="w") == {"gauge": ["a=1", "b=2"]}
    assert set(batch_list.NOT_A_CHOICE).isdisjoint(options())


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("file,colour\na.stl,red\n", "'colour'"),
        ("part,units\na.stl,mm\n", "one that is called file"),
        ("file,out\na.stl,there\n", "'out'"),
        ("file,copies\na.stl,2,3\n", "more cells than columns"),
        ("file\n", "found no part"),
        ("", "one that is called file"),
    ],
)
def test_a_list_that_cannot_be_read_is_one_clear_line(tmp_path, out, text, reason):
    with pytest.raises(InputError, match=reason) as caught:
        read_orders(write(tmp_path / "list.csv", text), told(), out=out)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("row", "reason"),
    [
        ({"copies": "two"}, "--copies"),
        ({"copies": "0"}, "--copies"),
        ({"paper": "A3"}, "A3"),
        ({"yes": "perhaps"}, "yes or no"),
        ({"draw": "0,0,0"}, "--draw"),
    ],
)
def test_what_is_wrong_with_one_part_stands_in_its_order(tmp_path, out, row, reason):
    for name in ("a", "b"):
        batch_parts.write_box(tmp_path, name)
    (key, value), *_ = row.items()
    listed = write(tmp_path / "list.csv", f'file,{key}\na.stl,"{value}"\nb.stl,\n')
    a, b = read_orders(listed, told(), out=out)
    assert reason in a.wrong and "\n" not in a.wrong
    assert b.wrong == ""


def test_semicolons_and_a_byte_order_mark_are_read(tmp_path, out):
    batch_parts.write_box(tmp_path, "a")
    path = tmp_path / "list.csv"
    path.write_bytes("\ufefffile;units;water\na.stl;mm;2.5 l\n".encode())
    (order,) = read_orders(path, told(), out=out)
    assert (order.unit, order.job.water_ml) == ("mm", 2500.0)


def test_a_folder_is_searched_but_for_results_and_hidden_files(tmp_path):
    parts = tmp_path / "parts"
    for place in ("a", "cabin/a", "cabin/b", ".trash/c", "out/plans/d/solids/e", "plan/solids/f"):
        (parts / place).parent.mkdir(parents=True, exist_ok=True)
        batch_parts.write_box((parts / place).parent, Path(place).name)
    write(parts / "plan" / "plan.json", "{}")
    write(parts / "notes.txt", "")
    found = list_parts(parts, out=parts / "out")
    assert [name for name, _, _ in found] == ["a", "cabin-a", "cabin-b"]


@pytest.mark.parametrize(
    ("names", "expected"),
    [
        (["a.stl", "a.obj"], ["a.stl", "a.obj"]),
        (["a.stl", "A.stl"], ["a.stl", "A.stl-2"]),
        (["x:y.stl", 'x"y.stl'], ["x_y.stl", "x_y.stl-2"]),
        (["con.stl", "..stl"], ["_con", "part"]),
        (["a.stl", "a.previous.stl"], ["a", "a_previous"]),
        (["cabin/a.stl", "/elsewhere/b.stl", "../c.stl"], ["cabin-a", "b", "c"]),
    ],
)
def test_names_differ_on_every_system(tmp_path, out, names, expected):
    listed = write(
        tmp_path / "list.csv",
        "file,name\n" + "".join(f'"{n.replace(chr(34), chr(34) * 2)}",\n' for n in names),
    )
    assert [name for name, _, _ in list_parts(listed, out=out)] == expected


def test_a_broken_toml_costs_its_part_alone(tmp_path, out):
    batch_parts.write_box(tmp_path, "a")
    batch_parts.write_box(tmp_path, "b")
    write(tmp_path / "a.toml", "units = mm\n")
    a, b = read_orders(tmp_path, told(units="mm"), out=out)
    assert a.wrong.startswith("a.toml: found no TOML") and not b.wrong


def test_a_cell_that_no_table_program_writes_is_one_line(tmp_path, out):
    listed = write(tmp_path / "list.csv", "file,name\na.stl," + "x" * 200_000 + "\n")
    with pytest.raises(InputError, match=r"list\.csv: found no table after line 1"):
        read_orders(listed, told(), out=out)


@pytest.mark.parametrize("word", hostile.WORDS)
def test_hostile_names_in_a_list_are_names_of_folders_or_cost_their_part_alone(tmp_path, out, word):
    batch_parts.write_box(tmp_path, "good")
    listed = tmp_path / "list.csv"
    with open(listed, "w", newline="", encoding="utf-8") as file:
        rows = csv.writer(file, quoting=csv.QUOTE_ALL)
        rows.writerows(
            [("file", "name"), ("good.stl", word), (word, "other"), ("good.stl", "last")]
        )
    try:
        orders = read_orders(listed, told(units="mm"), out=out)
    except InputError as error:  # a line that ends within its cell
        assert str(error).isprintable() and word.splitlines() != [word]
        return
    names = [order.name for order in orders]
    assert len({name.casefold() for name in names}) == len(names)
    for name in names:
        # What a file may be called on Linux, macOS and Windows (Microsoft, "Naming Files,
        # Paths, and Namespaces"; POSIX NAME_MAX), with what is put behind it.
        assert name.isprintable() and not set(name) & set('/\\:*?"<>|')
        assert name not in (".", "..") and name[-1] not in ". " and len(name.encode()) < 180
        (tmp_path / f".{name}.previous.unfinished-0123456789ab").mkdir()
    store = Store(out)
    with pytest.MonkeyPatch.context() as patch:
        # No worker is needed to see how many parts would be handed to one.
        handed = []
        patch.setattr(run, "_plan", lambda missing, *rest: handed.extend(missing))
        run.plan_missing(
            orders, store, Settings(limits=EASY, n_workers=1), is_wanted=bool, report=print
        )
    assert "good.stl" in {order.path.name for order in handed}
    refused = [entry for entry in store.entries() if not entry.is_planned]
    assert len(refused) == len(orders) - len(handed)
    assert all(entry.error.isprintable() and entry.error for entry in refused)
