"""Keys along the wall of a box, where the room for them lies anyhow.

Distances by shapely.
"""

import numpy as np
import pytest
import shapely

from castplan.geometry.flange import lay_keys

BOX = shapely.box(0, 0, 100, 60)
INSET_MM = 8.0  # half a key of 8 mm and 4 mm beside it


@pytest.mark.parametrize(
    "room",
    [
        shapely.Polygon(),
        shapely.box(40, 20, 60, 40),  # off the wall
        shapely.Point(50, 30).buffer(1),
        shapely.box(30, INSET_MM - 5, 70, INSET_MM - 1e-3),  # beside it
        shapely.box(-5, -5, INSET_MM, INSET_MM),  # at one point of it
    ],
)
def test_no_room_at_the_wall_is_no_keys(room):
    keys = lay_keys(BOX, room, pitch_mm=20.0, key_mm=8.0, clearance_mm=4.0)
    assert keys.shape == (0, 2)


def test_keys_stand_on_the_wall_where_there_is_room():
    room = BOX.buffer(-INSET_MM, join_style="mitre").difference(shapely.box(40, 0, 60, 30))
    keys = lay_keys(BOX, room, pitch_mm=20.0, key_mm=8.0, clearance_mm=4.0)
    assert len(keys) >= 3
    wall = BOX.buffer(-INSET_MM, join_style="mitre").exterior
    assert shapely.distance(wall, shapely.points(keys)).max() < 1e-9
    inside = np.all([keys[:, 0] > 40.01, keys[:, 0] < 59.99, keys[:, 1] < 30], axis=0)
    assert not inside.any()
