"""Every code of a closed set has its text: what no sample brings must not fail when it comes."""

import itertools

import pytest

from castplan.records import HARMS
from castplan.split.line import KINDS
from castplan.texts import english

FACES = ("top", "bottom", "left", "right", "front", "back")
HALVES = ("upper", "lower")
POURS = ("first", "second")
WAYS = ("groove", "groove_bent", "sideways", "none", "riser")
KEYS = {
    "direction": [
        f"draw_origin.{code}"
        for code in (
            *("file_x", "file_y", "file_z", "flat_face", "two_flat_faces", "main_axis"),
            *("laid_on", "midway", "show_face"),
            *("search", "asked_for"),
        )
    ],
    "a pocket's verdict": [
        f"split_finding.pocket_{verdict}"
        for verdict in ("leaves_freely", "flexes_out", "may_tear", "locked")
    ],
    "a verdict of what is held at both ends": [
        f"split_finding.{kind}_{verdict}"
        for kind in ("bridge", "web")
        for verdict in ("may_tear", "locked")
    ],
    "what holds a pocket": [f"split_finding.half_{half}" for half in (*HALVES, "both")],
    "split": [
        *(f"split_finding.{which}_{kind}" for which in ("this", "other") for kind in KINDS),
        *(f"split_finding.not_level_{kind}" for kind in KINDS if kind != "level"),
    ],
    "thin place": [
        f"split_finding.thin_{kind}{end}" for kind in ("rubber", "part") for end in ("", "_do")
    ],
    "face of the box": [f"air_finding.wall_{face}" for face in FACES],
    "way of an opening": [
        f"air_finding.{way}_{opening}"
        for way in ("blocked", "sideways", "slanted")
        for opening in ("gate", "vent")
    ],
    "harm of a vent": [f"air_finding.vent_on_{code}{end}" for code in HARMS for end in ("", "_do")],
    "harm of a further gate": [f"air_finding.further_on_{code}" for code in HARMS if code != "tip"],
    "silicone pour": [f"air_finding.silicone_{half}" for half in HALVES],
    "when to make an opening": [
        *(f"vent_when.{way}" for way in WAYS),
        *(f"vent_when.{way}_stuck" for way in WAYS if way != "none"),
        *(f"vent_when.riser_{pour}{end}" for pour in POURS for end in ("", "_stuck")),
        *(
            f"vent_when.{thing}_{pour}{end}"
            for thing, pour, end in itertools.product(("cone", "stick"), POURS, ("", "_slanted"))
        ),
    ],
}


@pytest.mark.parametrize("codes", KEYS)
def test_every_code_has_its_text(codes):
    assert [key for key in KEYS[codes] if key not in english()] == []
