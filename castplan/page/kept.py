"""What is kept of a job while it is at hand: its plans of a moment ago, memory and files."""

import collections
import json
import tempfile
from dataclasses import dataclass, field
from pathlib import Path

from castplan.door import Planned
from castplan.memory import Memory
from castplan.page.outcome import Outcome
from castplan.page.stored import StoredJob
from castplan.plan_record import Plan

# Answers of a plan's stages are kept for about as many versions, so a plan holds little more.
MOST_PLANS = 6


class Plans:
    """The last plans of one job, by its choices and its name: to go back takes no work."""

    def __init__(self):
        self._plans = collections.OrderedDict()

    def put(self, job: StoredJob, plan: Plan) -> None:
        """Keep the plan of a version."""
        self._plans[_key(job)] = plan
        self._plans.move_to_end(_key(job))
        while len(self._plans) > MOST_PLANS:
            self._plans.popitem(last=False)

    def get(self, job: StoredJob) -> Plan | None:
        """The plan of a version with the same choices, if there is one."""
        return self._plans.get(_key(job))


def _key(job):
    return job.name, json.dumps(job.choices, sort_keys=True)


@dataclass
class Bench:
    """What is kept of a job; `files` are those of the plan `files_of` was last asked for."""

    outcome: Outcome
    memory: Memory = field(default_factory=Memory)
    plans: Plans = field(default_factory=Plans)
    files: tempfile.TemporaryDirectory | None = None
    of: Plan | None = None
    stands: tuple = ()  # draw and pouring positions of the last plan that chose its own
    n_triangles: int = 0

    def files_of(self, plan: Plan) -> Path:
        """The folder of a plan's files, written once for each plan."""
        if self.of is not plan:
            self.drop()
            self.files = tempfile.TemporaryDirectory(prefix="castplan-")
            Planned(plan).with_solids({"halves"}).write(Path(self.files.name) / "plan")
            self.of = plan
        return Path(self.files.name) / "plan"

    def drop(self) -> None:
        """Let go of the files."""
        if self.files is not None:
            self.files.cleanup()
        self.files = self.of = None
