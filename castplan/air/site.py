"""The part in its box as it rests: what a gate is judged by."""

from castplan.air.long_part import LongPart
from castplan.air.records import AirResult
from castplan.columns.field import ColumnField
from castplan.geometry.channels import Block
from castplan.geometry.guard import Guard
from castplan.record import Frame, record
from castplan.split.records import BoxResult, PartingLine, RimLoop


@record
class GateSite:
    """The part along up as the box rests and along the draw, with its box and parting."""

    rested: ColumnField
    drawn: ColumnField
    draw_frame: Frame
    line: PartingLine
    box: BoxResult
    part_mm3: float  # of the cavity
    long: LongPart | None = None  # the part along its length, where it is long
    guard: Guard | None = None  # tells where an opening does harm
    is_parted: bool = True  # channels may lie in the parting
    cavity: ColumnField | None = None  # one cavity of `rested`, where there are several
    share: float = 1.0  # of all resin that goes into it
    rims: tuple[RimLoop, ...] | None = None  # outlines of the parting round it

    @property
    def own(self) -> ColumnField:
        """The cavity that the gate is for, along up as the box rests."""
        return self.rested if self.cavity is None else self.cavity

    @property
    def outlines(self) -> tuple[RimLoop, ...]:
        """Outlines of the parting at which a riser can come in."""
        return self.line.outlines if self.rims is None else self.rims

    def block(self, air: AirResult) -> Block:
        """The silicone as a channel sees it, up as the air was found."""
        ends_mm = (self.box.low_mm, self.box.high_mm)
        return Block(
            self.rested,
            air.frame,
            self.draw_frame,
            air.up,
            self.line.surface,
            *ends_mm,
            is_parted=self.is_parted,
        )
