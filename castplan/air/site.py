"""The part in its box as it rests: what a gate is judged by."""

from castplan.air.long_part import LongPart
from castplan.air.records import AirResult
from castplan.columns.field import ColumnField
from castplan.geometry import slide
from castplan.geometry.channels import Block
from castplan.geometry.guard import Guard
from castplan.record import Frame, record
from castplan.split.records import BoxResult, LoosePiece, PartingLine


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
    pieces: tuple[LoosePiece, ...] = ()  # that channels keep off

    def block(self, air: AirResult) -> Block:
        """The silicone as a channel sees it, up as the air was found."""
        ends_mm = (self.box.low_mm, self.box.high_mm)
        balls = slide.balls_of(self.pieces, self.draw_frame)
        frames = (air.frame, self.draw_frame, air.up)
        return Block(self.rested, *frames, self.line.surface, *ends_mm, balls)
