"""STEP solids as triangles, by the optional package cascadio.

The converter is compiled code that a damaged file can crash or hold up; it
runs in a process of its own, whose end is bounded.
"""

import importlib.util
import math
import signal
import subprocess
import sys
import tempfile
from pathlib import Path

from castplan.errors import InputError, ResourceError

# Chord error of the triangles, mm: below what a cast reproduces.
CHORD_MM = 0.02
# How long a conversion may take, by the size of the file: an assembly of a
# megabyte takes a few seconds, a damaged file takes for ever. Of the processor, where the
# system counts it: on a busy machine the clock runs on while nothing is done.
TIME_LIMIT_S, TIME_LIMIT_S_PER_MB = 8.0, 20.0
CLOCK_TIMES = 4

_CONVERT = """
import sys
try:
    import resource
    resource.setrlimit(resource.RLIMIT_CPU, (int(sys.argv[4]), int(sys.argv[4]) + 1))
except ImportError:
    pass
import cascadio
cascadio.step_to_glb(sys.argv[1], sys.argv[2], tol_linear=float(sys.argv[3]), tol_angular=0.2)
"""
# How a child ends whose processor time is used up, where the system counts it.
_OUT_OF_TIME = -int(getattr(signal, "SIGXCPU", 0)) or None


def glb_from_step(data: bytes, *, name: str) -> bytes:
    """Turn a STEP file (ISO 10303-21) into GLB; lengths come out in metres.

    Parameters
    ----------
    data : bytes
    name : str
        Of the file, for the message.

    Returns
    -------
    bytes

    Raises
    ------
    InputError
        The package is not installed, or the file holds no solid it can read.
    ResourceError
        The conversion takes longer than `TIME_LIMIT_S` and the size allow.
    """
    if importlib.util.find_spec("cascadio") is None:
        raise InputError(
            name,
            found="a STEP file",
            need="the package that reads STEP",
            do="pip install 'castplan[step]', or export the part as STL or 3MF.",
        )
    limit_s = math.ceil(TIME_LIMIT_S + TIME_LIMIT_S_PER_MB * len(data) / 1e6)
    late = ResourceError(
        name,
        found=f"a STEP file still not converted after {limit_s} s",
        need="a simpler one",
        do="Export the part as STL or 3MF from the program that made it.",
    )
    told = [str(CHORD_MM), str(limit_s)]
    with tempfile.TemporaryDirectory() as folder:
        source, target = Path(folder, "part.step"), Path(folder, "part.glb")
        source.write_bytes(data)
        try:
            done = subprocess.run(
                [sys.executable, "-c", _CONVERT, str(source), str(target), *told],
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                timeout=CLOCK_TIMES * limit_s,
                check=False,
            )
        except subprocess.TimeoutExpired:
            raise late from None
        glb = target.read_bytes() if target.is_file() else b""
    if done.returncode == _OUT_OF_TIME:
        raise late
    if done.returncode or not glb:
        raise InputError(
            name,
            found="a STEP file that could not be read",
            need="a whole STEP file with a solid in it",
            do="Export it again, or export the part as STL or 3MF.",
        )
    return glb
