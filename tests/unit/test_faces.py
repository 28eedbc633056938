"""Names of the sides of a part: on bodies whose names are plain, and on the samples, looked at.

The bodies are built by manifold3d from closed forms; what a person calls their sides is
said here beforehand. That no two are alike and that turning the file changes nothing is
asked of them all.
"""

from pathlib import Path

import numpy as np
import pytest
from manifold3d import Manifold
from scipy.spatial.transform import Rotation

from castplan.part.faces import name_faces
from castplan.part.load import load_part, part_from_arrays
from castplan.record import Frame

SAMPLES = Path(__file__).parents[2] / "sample_parts"
FILE = Frame(rotation=np.eye(3))
AXES = {"+x": (1, 0, 0), "-x": (-1, 0, 0), "+y": (0, 1, 0), "-y": (0, -1, 0)}
AXES |= {"+z": (0, 0, 1), "-z": (0, 0, -1)}


def cube(*size_mm, at=(0, 0, 0)):
    return Manifold.cube(size_mm).translate(at)


def rod(high_mm, radius_mm, *, at=(0, 0, 0)):
    return Manifold.cylinder(high_mm, radius_mm, radius_mm, 64).translate(at)


def plate():
    return cube(100, 60, 5)


def ribbed():
    return Manifold.batch_boolean(
        [plate(), *(cube(90, 2, 10, at=(5, 5 + 15 * k, 4)) for k in range(3))], 0
    )


def bracket():
    """A plate with two arms that hook over, the second taller."""
    arms = [
        cube(8, 12, high, at=(x, 24, 4)) + cube(25, 12, 6, at=(x, 24, high))
        for x, high in ((10, 20), (60, 40))
    ]
    return plate() + arms[0] + arms[1]


def rack():
    """A bar with nine teeth along one of its long sides."""
    bar = cube(100, 20, 10)
    for k in range(9):
        bar -= cube(4, 3, 12, at=(10 + 9 * k, 18, -1))
    return bar


def cup():
    return rod(50, 30) - rod(50, 26, at=(0, 0, 4))


def tray():
    return cube(100, 60, 20) - cube(92, 52, 20, at=(4, 4, 4))


def handle():
    """A bow on two feet."""
    return cube(100, 12, 12, at=(0, 0, 28)) + cube(12, 12, 30) + cube(12, 12, 30, at=(88, 0, 0))


def part_of(solid, rotation=None):
    mesh = solid.to_mesh64()
    vertices = np.asarray(mesh.vert_properties)[:, :3]
    if rotation is not None:
        vertices = vertices @ rotation.T
    faces = np.asarray(mesh.tri_verts).astype(np.int64)
    return part_from_arrays(vertices, faces, name="body")


def named(part, frame=FILE):
    faces = name_faces(part, frame)
    return {axis: str(faces.towards(way).name) for axis, way in AXES.items()}


BODIES = {
    "box": (lambda: cube(100, 60, 20), {"+z": "one large flat side", "-x": "the other end"}),
    "bar": (lambda: cube(100, 20, 20), {"+x": "one end", "+z": "long side 1", "-z": "long side 2"}),
    "cylinder": (lambda: rod(60, 15), {"+z": "one flat end", "-z": "the other flat end"}),
    "disc": (lambda: rod(6, 30), {"+z": "one large flat side"}),
    "cup": (cup, {"+z": "the rim", "-z": "the bottom"}),
    "tray": (tray, {"+z": "the rim", "-z": "the bottom"}),
    "ribbed plate": (ribbed, {"+z": "the face with the three ribs", "-z": "the flat back"}),
    "pin on a plate": (
        lambda: plate() + rod(40, 4, at=(20, 30, 0)),
        {
            "+z": "the face with the post",
            "-z": "the flat back",
            "-x": "the end near the post",
            "+x": "the end away from the post",
        },
    ),
    "bracket": (
        bracket,
        {
            "+z": "the face with the two arms",
            "-z": "the flat back",
            "+x": "the end by the taller arm",
            "-x": "the end by the lower arm",
            # With +x at the top and +z towards the eye, -y is at the right.
            "-y": "the right-hand long side",
            "+y": "the left-hand long side",
        },
    ),
    "rack": (rack, {"+y": "the long side with the teeth", "-y": "the long side without teeth"}),
    "two holes": (
        lambda: plate() - rod(20, 4, at=(15, 30, -5)) - rod(20, 4, at=(35, 30, -5)),
        {"-x": "the end near the two holes", "+x": "the end away from the two holes"},
    ),
    "handle": (
        handle,
        {
            "-z": "the long side with the two feet",
            "+z": "the flat long side",
        },
    ),
    "ball": (lambda: Manifold.sphere(20, 64), {"+z": "round side 1", "+x": "round side 3"}),
}


@pytest.mark.parametrize("body", BODIES)
def test_a_body_is_called_what_a_person_calls_it(body):
    solid, expected = BODIES[body][0](), BODIES[body][1]
    names = named(part_of(solid))
    assert {axis: names[axis] for axis in expected} == expected
    assert len(set(names.values())) == 6, names


def test_of_sides_that_look_alike_it_is_told_how_to_tell_them_apart():
    faces = name_faces(part_of(bracket()), FILE)
    which = str(faces.towards(AXES["+y"]).which)
    assert "the end by the taller arm at the top" in which
    assert "look at the face with the two arms" in which
    assert not faces.towards(AXES["+z"]).which
    assert "alike" in str(name_faces(part_of(cube(100, 60, 20)), FILE).towards(AXES["+z"]).which)


@pytest.mark.parametrize("body", BODIES)
def test_turning_the_file_changes_no_name(body):
    solid = BODIES[body][0]()
    names = named(part_of(solid))
    turn = Rotation.random(random_state=7).as_matrix()
    turned = part_of(solid, turn)
    frame = Frame(rotation=turn.T)
    for axis, way in AXES.items():
        face = name_faces(turned, frame).towards(turn @ np.array(way, dtype=float))
        assert str(face.name) == names[axis]


def test_scaling_changes_no_name():
    for body in ("bracket", "cup", "ribbed plate"):
        solid = BODIES[body][0]()
        assert named(part_of(solid)) == named(part_of(solid.scale((3.0, 3.0, 3.0))))


# Each looked at in its picture.
LOOKED_AT = {
    "coat_hook": {
        "+z": "the face with the two arms",
        "-z": "the flat back",
        "+y": "the end by the taller arm",
        "-y": "the end by the lower arm",
        "+x": "the right-hand long side",
    },
    "posts": {"+z": "the face with the six posts", "-z": "the flat back"},
    "lamp_bezel": {"+z": "the rounded front", "-z": "the flat back"},
    "louvre_grille": {"+z": "the front", "-z": "the flat back"},
    "sliding_catch": {
        "+y": "the long side with the teeth",
        "-y": "the long side without teeth",
        "+z": "the face with the raised part",
        "-z": "the flat back",
    },
    "drawer_pull": {"-z": "the long side with the two feet"},
}


@pytest.mark.parametrize("name", LOOKED_AT)
def test_the_samples_are_called_what_their_pictures_show(name):
    part = load_part(SAMPLES / f"{name}.stl", unit="mm")
    names = named(part)
    assert {axis: names[axis] for axis in LOOKED_AT[name]} == LOOKED_AT[name]
    assert len(set(names.values())) == 6, names


def test_a_slanted_direction_is_that_of_the_side_it_is_nearest_to():
    faces = name_faces(part_of(plate()), FILE)
    assert faces.towards((0.3, 0.2, 0.9)).direction == pytest.approx((0, 0, 1))
    assert faces.towards((-2.0, 0.2, 0.9)).direction == pytest.approx((-1, 0, 0))
