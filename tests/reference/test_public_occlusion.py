"""What is hidden along a draw on meshes of other makers, against Embree's ray casts.

The meshes ship inside packages that the tests use anyway: pymeshfix (Stanford
bunny, a warped sheet) and pyvista (nut, ant, airplane, ball). None was made for
this program; some are open, one is fifteen closed shells that overlap. Of each
the surface is asked at points spread evenly by area: does a ray along the draw
meet the surface again? Embree answers by its rays, the columns by their
intervals.
"""

from pathlib import Path

import bodies
import numpy as np
import pymeshfix
import pytest
import pyvista
import trimesh
from trimesh.ray.ray_pyembree import RayMeshIntersector

from castplan.mesh.load import part_from_arrays

N_ACROSS = 320
N_POINTS = 6000
N_DIRECTIONS = 20
FILES = {
    "bunny": Path(pymeshfix.__file__).parent / "examples" / "StanfordBunny.ply",
    "nut": Path(pyvista.__file__).parent / "examples" / "nut.ply",
    "ant": Path(pyvista.__file__).parent / "examples" / "ant.ply",
    "airplane": Path(pyvista.__file__).parent / "examples" / "airplane.ply",
    "ball": Path(pyvista.__file__).parent / "examples" / "sphere.ply",
}
