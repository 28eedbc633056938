"""What must lie ready beside the materials."""

from castplan.record import record
from castplan.texts.told import Told

GEAR_GROUPS = ("material", "tool", "protect")


@record
class GearLine:
    """One thing to have ready, how much of it, and what for."""

    group: str  # one of `GEAR_GROUPS`
    what: Told
    amount: Told
    use: Told
