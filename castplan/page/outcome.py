"""How far a plan is, and what it came to: kept with its job, told in the list."""

from dataclasses import dataclass

from castplan.materials.wording import weight_text
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words.kinds import kind_name

STATES = ("waiting", "busy", "done", "wrong", "stopped")


@dataclass(frozen=True)
class Outcome:
    """How far the plan of a version is.

    Where it went wrong `error` is one line, and `asks` what would settle it, if one
    answer does (as `errors.CastplanError`).
    """

    at: int
    state: str
    stage: str = ""
    fraction: float = 0.0
    error: str = ""
    asks: str = ""
    exit_code: int = 0
    plan: Plan | None = None
    seconds: float = 0.0
    n_asked: int = 0  # stages, and how many of them had to be worked out
    n_worked: int = 0


def came_to(plan: Plan) -> dict:
    """What a plan came to, in codes and numbers, to be kept for the list."""
    watched = sum(finding.severity != "note" for finding in plan.findings)
    return {
        "state": "done",
        "mould": plan.split.kind,
        "silicone_g": round(plan.bench.amounts.silicone_g, 1),
        "n_watched": watched,
    }


def in_a_line(told: dict) -> str:
    """The same in words; nothing where there is no plan."""
    if told.get("state") != "done":
        return ""
    return say(
        "page_home.answer",
        n=told["n_watched"],
        kind=kind_name(told["mould"]),
        silicone=weight_text(told["silicone_g"]),
    )
