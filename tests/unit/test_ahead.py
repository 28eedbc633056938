"""Kernels compiled ahead are those that a plan calls, as it calls them."""

from pathlib import Path

import castplan
from castplan.columns import ahead

SAMPLES = Path(__file__).parents[2] / "sample_parts"


def test_the_table_names_each_kernel_as_a_plan_calls_it():
    castplan.plan(SAMPLES / "lamp_bezel.stl", unit="mm")
    # numba keeps the types of every call that it compiled for or loaded.
    for kernel, letters in ahead.KERNELS:
        assert ahead.types_of(letters) in kernel.signatures, kernel.py_func.__name__
