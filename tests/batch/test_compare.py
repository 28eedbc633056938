"""Which verdicts differ between two runs, and the numbers that say why."""

from batch_parts import entry

from castplan.batch.compare import compare, comparison_lines


def pocket(verdict, needs):
    return [{"number": 1, "verdict": verdict, "needs_fraction": needs, "allowed_fraction": 0.2}]


def test_the_same_run_twice_changes_nothing():
    found = compare([entry("a"), entry("b")], [entry("a"), entry("b")])
    assert found.is_same
    assert comparison_lines(found) == ["2 verdicts are unchanged, 0 changed."]


def test_a_changed_verdict_is_told_with_its_numbers():
    after = entry(
        "a",
        mesh_sha256="other",
        choices={"silicone": "silicone-platinum-20a"},
        version="2",
        digest={
            "verdict": "may tear",
            "trapped_ml": 0.9,
            "draw": [0.0, 1.0, 0.0],
            "pockets": pocket("may tear", 0.31),
            "findings": ["stop bridge", "note heat"],
            "worst": [{"severity": "stop", "message": "m", "do": "d"}],
        },
    )
    found = compare([entry("a"), entry("b")], [after, entry("b")])
    assert not found.is_same
    assert comparison_lines(found) == [
        "a: warning, stretches out, flat parting -> stop, may tear, flat parting",
        "  the mesh has changed",
        "  silicone: as usual -> silicone-platinum-20a",
        "  castplan 1 -> 2",
        "  draw direction: the file's +z -> the file's +y",
        "  undercut: 0.20 ml -> 0.90 ml",
        "  pocket 1 before: stretches out, needs 12 % of stretch; 20 % is allowed",
        "  pocket 1 after: may tear, needs 31 % of stretch; 20 % is allowed",
        "  no longer: warn thin",
        "  new: stop bridge",
        "1 verdict is unchanged, 1 changed.",
    ]


def test_numbers_alone_are_no_other_verdict():
    moved = entry("a", digest={"trapped_ml": 0.3, "silicone_g": 500.0, "draw": [0, 1, 0]})
    assert compare([entry("a")], [moved]).is_same


def test_a_part_that_lost_its_plan_or_is_gone_is_told():
    lost = entry("a", status="time", error="a.stl: found no plan after 9 s")
    found = compare([entry("a"), entry("old")], [lost, entry("new")])
    assert comparison_lines(found) == [
        "a: warning, stretches out, flat parting -> no plan (time)",
        "  after: a.stl: found no plan after 9 s",
        "Only in the first: old",
        "Only in the second: new",
        "0 verdicts are unchanged, 1 changed.",
    ]


def test_turned_round_a_draw_is_the_same():
    after = entry("a", digest={"draw": [0.0, 0.0, -1.0], "verdict": "locked"})
    lines = comparison_lines(compare([entry("a")], [after]))
    assert not any("draw" in line for line in lines)
