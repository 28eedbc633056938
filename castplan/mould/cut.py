"""What the block of silicone is cut by."""

from castplan.air.records import Route
from castplan.mould.records import KeysResult, Port
from castplan.record import Frame, record
from castplan.split.records import BoxResult, LoosePiece, PartingSurface


@record
class Cut:
    """The box, the parting with its keys, and the openings with their ways out."""

    frame: Frame  # along the draw
    surface: PartingSurface
    box: BoxResult
    keys: KeysResult
    ports: tuple[Port, ...] = ()
    routes: tuple[Route, ...] = ()  # a port without one goes its own way
    pieces: tuple[LoosePiece, ...] = ()  # in the order in which they are pulled
