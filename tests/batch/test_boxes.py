"""A list names parts that lie in one box with another: read, hashed, planned as by the command."""

import batch_parts
import pytest

from castplan.batch.child import _make
from castplan.batch.order import choices_of, key_of, meshes_hash, pack, read_mesh
from castplan.cli.batch_list import options, read_orders
from castplan.door import plan_part
from castplan.errors import InputError
from castplan.files.record import plan_json
from castplan.part.load import load_part

QUICK = {"units": "mm", "pitch": 1.0}


def told(**choices):
    """What the command line would hand over: every option, most of them not given."""
    return {name: parameter.default for name, parameter in options().items()} | choices


@pytest.fixture
def listed(tmp_path):
    """Orders of a list: a part with two more in its box, one by its TOML, one alone."""
    for name in ("a", "b", "c"):
        batch_parts.write_box(tmp_path, name)
    batch_parts.write_box(tmp_path, "d", size_mm=(24.0, 12.0, 8.0))
    (tmp_path / "b.toml").write_text('units = "mm"\n[plan]\nwith = ["d.stl"]\n')
    path = tmp_path / "list.csv"
    path.write_text("file,with\na.stl,d.stl | a.stl\nb.stl,\nc.stl,\n")
    return read_orders(path, told(**QUICK), out=tmp_path / "out")


def hash_of(order):
    return meshes_hash(order, read_mesh(order))


def test_lists_and_files_beside_a_part_name_what_lies_with_it(listed):
    a, b, c = listed
    assert not any(order.wrong for order in listed)
    assert [path.name for path in a.others] == ["d.stl", "a.stl"]
    assert [path.name for path in b.others] == ["d.stl"]
    assert c.others == ()
    assert choices_of(a)["with"] == ["d.stl", "a.stl"]
    assert "with" not in choices_of(c)


def test_another_mesh_in_the_box_is_another_plan(listed, tmp_path):
    before = [key_of(order, hash_of(order)) for order in listed]
    batch_parts.write_box(tmp_path, "d", size_mm=(24.0, 12.0, 9.0))
    after = [key_of(order, hash_of(order)) for order in listed]
    assert [one == other for one, other in zip(before, after, strict=True)] == [False, False, True]


def test_a_child_plans_the_box_that_the_command_plans(listed, tmp_path):
    order = listed[0]
    place = tmp_path / "child"
    made = _make(pack(order), place)
    parts = {path: load_part(path, unit="mm") for path in (order.path, *order.others)}
    one = plan_part(parts[order.path], order.job, others=[parts[path] for path in order.others])
    assert [(part.name, part.copy) for part in made.nest.parts] == [
        ("a", 1),
        ("d", 1),
        ("a", 2),
    ]
    assert plan_json(made.record) == plan_json(one.record)


def test_a_part_of_a_box_that_is_not_there_stops_that_box_alone(listed, tmp_path):
    (tmp_path / "d.stl").unlink()
    with pytest.raises(InputError, match=r"d\.stl: found no file that can be read"):
        hash_of(listed[0])
    assert hash_of(listed[2])
