"""Compile kernels beside the first command ever: the pictures', then the plan's before them.

    python -m castplan.step_pictures.ahead K N

Pictures come last in a command, so their kernels are begun with while the plan compiles
its own from the first to the last; see `columns/ahead.py`. Of N such processes each has
its share first, from the K-th last on, and then looks for what the others left.
"""

import gc
import sys

from castplan.columns import ahead
from castplan.step_pictures import body, lines, marks, sight, tones

_SEEN = "Tuple((f4[::1], i4[::1], u1[::1], i2[::1]))"  # buffers of `sight.draw_thing`
# In the order in which a picture first calls them.
KERNELS = (
    (body._normals, "(f8[:, ::1], i4[:, ::1], i8)"),
    (sight.draw_thing, f"(f8[:, ::1], i4[:, ::1], u1[::1], u1[::1], i8, i8, i8, {_SEEN})"),
    (lines.find_edges, f"({_SEEN}, f4[:, ::1], b1[:, ::1], i8)"),
    (tones.paint, "(u1[::1], i4[::1], b1[::1], f8[::1], f8[:, ::1], i8[::1], i8, f8)"),
    (lines._trace, "(u1[::1], i8[::1], b1[::1], i8, i8, i8[::1])"),
    (lines.stroke, "(f4[:, ::1], f8[:, ::1], i8[::1], f8[::1])"),
    (marks._lay, "(f4[:, :, ::1], f4[:, ::1], f4[::1])"),
    (marks._fill_between, "(f4[:, ::1], f8[:, ::1], f8, i8, i8, i8, i8)"),
)


def compile_from_the_last(*, share: int, shares: int) -> None:
    """Compile what is not kept yet, or load it: one share of several, then the others."""
    wanted = [(kernel, ahead.types_of(letters)) for kernel, letters in ahead.KERNELS]
    wanted += KERNELS
    wanted.reverse()
    for first in (share, *(other for other in range(shares) if other != share)):
        for kernel, signature in wanted[first::shares]:
            kernel.compile(signature)


if __name__ == "__main__":
    # The process ends when the last is compiled: looking for cycles costs it a tenth.
    gc.disable()
    compile_from_the_last(share=int(sys.argv[1]), shares=int(sys.argv[2]))
