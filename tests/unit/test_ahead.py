"""Kernels compiled ahead are those that a plan calls, as it calls them."""

from pathlib import Path

from numba.core.sigutils import normalize_signature

import castplan
from castplan import step_pictures
from castplan.columns import ahead
from castplan.step_pictures import ahead as pictures_ahead

SAMPLES = Path(__file__).parents[2] / "sample_parts"


def test_the_table_names_each_kernel_as_a_plan_calls_it():
    plan = castplan.plan(SAMPLES / "coat_hook.stl", unit="mm").record
    # numba keeps the types of every call that it compiled for or loaded.
    for kernel, letters in ahead.KERNELS:
        assert ahead.types_of(letters) in kernel.signatures, kernel.py_func.__name__
    step_pictures.draw_picture(plan, step_pictures.list_names(plan)[0])
    for kernel, signature in pictures_ahead.KERNELS:
        types, _ = normalize_signature(signature)
        assert types in kernel.signatures, kernel.py_func.__name__
