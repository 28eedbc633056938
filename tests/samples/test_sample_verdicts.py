"""The samples' verdicts stand: a change of any of them is seen before it lands.

Regression, not truth: the reference is what this program said before.
``python tests/sample_verdicts.py`` renews it.
"""

import json

import pytest
import sample_verdicts as verdicts

BEFORE = json.loads(verdicts.REFERENCE.read_text("utf-8"))


def test_every_sample_has_its_verdict():
    assert sorted(BEFORE) == [path.stem for path in verdicts.SAMPLES]


@pytest.mark.parametrize("path", verdicts.SAMPLES, ids=lambda path: path.stem)
def test_the_verdict_stands(path):
    assert verdicts.changes(path.stem, BEFORE[path.stem], verdicts.verdicts_of(path)) == []


def test_the_net_can_catch():
    before = BEFORE["posts"]
    moved = {
        "verdict": "may tear",
        "split": "stepped",
        "pockets": ["locked"],
        "part_ml": 1.002 * before["part_ml"],
        "trapped_ml": before["trapped_ml"] + 0.03,
        "n_vents": before["n_vents"] + 2,
        "silicone_g": 1.06 * before["silicone_g"],
        "resin_g": 0.94 * before["resin_g"],
    }
    assert set(moved) == set(before)
    for name, value in moved.items():
        (line,) = verdicts.changes("posts", before, before | {name: value})
        assert line.startswith(f"posts {name}: ")
    within = before | {"n_vents": before["n_vents"] + 1, "silicone_g": 1.04 * before["silicone_g"]}
    assert verdicts.changes("posts", before, within) == []
