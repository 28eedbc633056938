"""castplan: from a part's mesh to a plan for a two-part silicone block mould.

import castplan
plan = castplan.plan("coat_hook.stl", unit="mm", wall_mm=14)
plan.write("coat hook plan")
again = castplan.read_plan("coat hook plan")
"""

import importlib

__version__ = "0.1.0"

# Where the names stand that Python users need; imported when first asked for, so that
# `import castplan` and ``castplan --help`` answer at once.
_ROOMS = {
    "CastplanError": "castplan.errors",
    "Job": "castplan.job",
    "Planned": "castplan.door",
    "plan": "castplan.door",
    "read_plan": "castplan.door",
}

__all__ = ["CastplanError", "Job", "Planned", "plan", "read_plan"]


def __getattr__(name):
    if name not in _ROOMS:
        raise AttributeError(f"module 'castplan' has no attribute {name!r}")
    return getattr(importlib.import_module(_ROOMS[name]), name)


def __dir__():
    return sorted({*globals(), *__all__})
