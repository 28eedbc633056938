"""Where gate and vents are on the 1:1 pages of the booklet, in a sentence."""

from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import air as air_view
from castplan.words import formats

_ON_BOARD_MM = 0.5  # so low a start lies on the board
_MOST = 6  # that a sentence may list; the details have a table


def bed_sentence(plan: Plan) -> str:
    """Where they start on the original for the first pour; of sticks also how high."""
    low, board_mm = plan.mould.block.low_mm, plan.mould.block.bedding.board_mm
    rods = {route.label for route in plan.mould.vents.routes if route.is_rod}
    places = []
    for port, path_mm in air_view.port_ways(plan):
        place = [*(path_mm[0, :2] - low[:2]), path_mm[0, 2] - board_mm]
        # A rod lies in the parting, whatever its height there, and so does what starts on a board.
        is_down = port.label in rods or abs(place[2]) < _ON_BOARD_MM
        places.append((port, place[:2] if is_down else place))
    return _sentence(plan, "mouths.bed", places)


def pour_sentence(plan: Plan) -> str:
    """Where they come out of the upper side as the box stands for the resin."""
    datum = plan.mould.block.datum_mm
    places = [
        (port, air_view.as_it_rests(plan, path_mm)[-1, :2] - datum)
        for port, path_mm in air_view.port_ways(plan)
    ]
    return _sentence(plan, "mouths.pour", places)


def _sentence(plan, key, places):
    if not 0 < len(places) <= _MOST:
        return ""
    error_mm = max(plan.sampling.pitch_mm, 0.1)
    told = []
    for port, place in places:
        numbers = [formats.rounded(value, error=error_mm) for value in place]
        at = say("mouths.at", x=numbers[0], y=numbers[1])
        if len(numbers) > 2:
            at = say("mouths.at_high", at=at, z=numbers[2])
        what = say(f"plan_view.{port.kind}")
        told.append(say("mouths.place", what=what, label=port.label, at=at))
    return say(key, places="; ".join(told))
