"""What a log tells of each part of a box of several."""

from collections import Counter

from castplan.after.boxed import put_in_box, result_of
from castplan.after.records import RESULTS, CastLog
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words.cast import kind_words
from castplan.words.nest import named


def tally_lines(plan: Plan, log: CastLog) -> list[str]:
    """How many castings of each part there are, how they came out, and what was wrong.

    Empty for a box with one part, and where no casting stands.
    """
    copies = [pour for pour in log.pours if pour.pour == "copy"]
    if plan.nest is None or not copies:
        return []
    return [_tally(plan.nest, part, copies) for part in plan.nest.parts]


def _tally(nest, part, copies):
    results = Counter(result_of(pour, number=part.number) for pour in copies)
    defects = [put_in_box(nest, each) for pour in copies for each in pour.defects]
    kinds = Counter(each.kind for each in defects if each.part == part.number)
    told = {"part": named(part), "n": len(copies), **{name: results[name] for name in RESULTS}}
    if not kinds:
        return say("boxed.tally", **told)
    wrong = [
        kind_words(kind) if n == 1 else say("boxed.times", defect=kind_words(kind), n=n)
        for kind, n in kinds.items()
    ]
    return say("boxed.tally_wrong", **told, defects=", ".join(wrong))
