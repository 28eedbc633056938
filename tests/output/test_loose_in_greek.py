"""A mould with loose pieces holds no English when it is shown in another language."""

import pytest
from output.greek import greek_catalogue
from output.left_english import left_in

from castplan import texts
from castplan.view.scene import build_scene
from tests import loose_bodies as bodies


@pytest.mark.parametrize("make", [bodies.plate_with_cross_hole, bodies.pockets_on_opposite_sides])
def test_loose_pieces_are_told_in_any_language(make):
    plan = bodies.planned(make()).record
    assert plan.split.pieces
    texts.use(greek_catalogue())
    try:
        assert left_in(plan, build_scene(plan)) == []
    finally:
        texts.use({})
