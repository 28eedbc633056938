"""One body of trim through plan, halves and judge."""

import time
from dataclasses import dataclass

import numpy as np
import pull
import trim_bodies

from castplan.part.close import Closing
from castplan.part.load import Source, part_from_arrays
from castplan.planning import build_plan, build_solids
from castplan.records import Job, Part, Plan, Solid


@dataclass(frozen=True)
class Trial:
    """A plan, its halves, what the judge says of them, and seconds for each."""

    name: str
    trim: trim_bodies.Trim
    part: Part
    plan: Plan
    upper: Solid
    lower: Solid
    pull: pull.Pull
    plan_s: float
    halves_s: float
    judge_s: float

    @property
    def open_too_much_ml(self):
        """Box that neither part, halves nor the plan's ports account for."""
        return self.pull.open_mm3 / 1000 - self.plan.mould.block.ports_ml


def load(name):
    """The body of a name and the part that castplan makes of it."""
    body = trim_bodies.make(name)
    closing = None if body.thickness_mm is None else Closing(body.thickness_mm)
    return body, part_from_arrays(
        body.vertices_mm, body.faces, name=name, source=Source(closing=closing)
    )


def in_draw_frame(part, plan):
    """Vertices (n, 3) in the plan's draw frame and faces of a part, its holes capped."""
    faces = np.concatenate([part.faces, part.cap_faces])
    return part.vertices_mm @ plan.split.draw.frame.rotation.T, faces


def try_body(name, *, pitch_mm=None, **choices):
    """Plan a body, make its halves and pull them apart.

    Parameters
    ----------
    name : str
    pitch_mm : float, optional
        The judge's, see `pull.pull_apart`.
    **choices
        Fields of the job, over those that the body brings.

    Returns
    -------
    Trial
    """
    body, part = load(name)
    begun = time.perf_counter()
    plan = build_plan(part, Job(**({"mould": "two-part"} | body.choices | choices)))
    planned = time.perf_counter()
    upper, lower = build_solids(plan, ["halves"])
    made = time.perf_counter()
    judged = pull.pull_apart(
        in_draw_frame(part, plan),
        (upper.vertices_mm, upper.faces),
        (lower.vertices_mm, lower.faces),
        pitch_mm=pitch_mm,
    )
    return Trial(
        name=name,
        trim=body,
        part=part,
        plan=plan,
        upper=upper,
        lower=lower,
        pull=judged,
        plan_s=planned - begun,
        halves_s=made - planned,
        judge_s=time.perf_counter() - made,
    )
