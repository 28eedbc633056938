"""Sentences that the pours add to the steps."""

from output.neutral import filled

from castplan import records
from castplan.bench.pour_steps import add_pour_notes


def notes_of(*, kinds, option=None, routes=(), pours=()):
    steps = tuple(
        filled(records.Step, number=n, text=f"Do {kind}.", kind=kind)
        for n, kind in enumerate(kinds, start=1)
    )
    schedule = filled(records.ScheduleResult, steps=steps)
    option = option or filled(records.AttitudeOption, rest="+z")
    gate = filled(records.Port, label="G", kind="gate", cup_mm=20.0)
    mould = filled(
        records.Mould,
        vents=records.VentsResult(routes=routes),
        gate=filled(records.GateResult, cup_mm=30.0, cup_high_mm=25.0),
        block=filled(records.MouldResult, ports=(gate,)),
        pours=records.PoursResult(pours=pours),
    )
    attitude = filled(records.AttitudeResult, options=(option,))
    result = add_pour_notes(schedule, attitude, mould)
    assert [step.number for step in result.steps] == [step.number for step in steps]
    return [str(step.text) for step in result.steps]


def test_a_tilt_is_told_where_the_mould_is_closed():
    option = filled(records.AttitudeOption, rest="+z", tilt_deg=15.0, toward_deg=75.0)
    (close,) = notes_of(kinds=["close"], option=option)
    # 75 degrees counter-clockwise from x is nearest to the back (90).
    assert "tilted 15 degrees with its back side raised, at 75 degrees" in close
    assert "tilted" not in notes_of(kinds=["close"])[0]


def test_straws_stand_above_the_cup():
    routes = tuple(
        filled(records.Route, label=label, route=route)
        for label, route in (("G", "straight"), ("1", "groove"), ("2", "slanted"), ("3", "none"))
    )
    (close,) = notes_of(kinds=["close"], routes=routes)
    assert "vents 1 and 2" in close
    assert "pouring cup, 30 mm wide and 25 mm high, on gate G" in close


def test_each_silicone_pour_has_its_own_brush_note():
    caught = filled(records.CaughtAir)
    pours = (
        filled(records.SiliconePour, half="upper"),
        filled(
            records.SiliconePour,
            half="lower",
            caught=(caught, caught),
            tilt_deg=15.0,
            toward_deg=180.0,
        ),
    )
    first, turn, second = notes_of(kinds=["pour", "turn", "pour"], pours=pours)
    assert first == "Do pour." and turn == "Do turn."
    assert "in 2 places. Brush these first" in second and "at 180 degrees raised" in second
