"""The part, its state and its looks."""

from castplan.part.records.faces import Face, Faces
from castplan.part.records.health import BODY_KINDS, Body, Health, Hole
from castplan.part.records.part import MeshCheck, Part
from castplan.part.records.sampling import Sampling, Sketch
from castplan.part.records.show import SHOW_BASES, SHOW_WHYS, ShowFace

__all__ = [
    "BODY_KINDS",
    "SHOW_BASES",
    "SHOW_WHYS",
    "Body",
    "Face",
    "Faces",
    "Health",
    "Hole",
    "MeshCheck",
    "Part",
    "Sampling",
    "ShowFace",
    "Sketch",
]
