"""Steps on the clock, against networkx's longest path and against what a clock allows."""

import datetime
import itertools
from dataclasses import replace

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from output.neutral import filled

from castplan.bench.days import Days
from castplan.bench.timeline import set_times
from castplan.errors import InputError
from castplan.materials.shop import load_shop
from castplan.records import Job, ScheduleResult, Shop, Step

ALL_DAY = Shop(day_start_h=0.0, day_end_h=24.0)
# The kinds of a usual job, in order; per copy from "close" to "trim".
MOULD = ["inspect", "clean", "seal", "patch", "mark", "fix", "box", "water", "keys", "sign"]
MOULD += ["release", "weigh", "pour", "turn", "coats", "weigh", "pour", "open", "rest"]
CYCLE = ["close", "mix", "cast", "out", "trim"]


def job_of(times, *, copies=1, shop=ALL_DAY, start=None):
    """A schedule whose steps take the (hands, wait) of `times` in turn."""
    kinds = [*MOULD, *CYCLE, "measure"]
    steps = []
    for number, kind in enumerate(kinds, start=1):
        hands, wait = times[(number - 1) % len(times)]
        if kind in ("weigh", "mix"):  # what is mixed is poured at once
            wait = 0
        is_per_copy = kind in CYCLE
        share = copies if is_per_copy else 1
        steps.append(
            filled(
                Step,
                number=number,
                kind=kind,
                is_per_copy=is_per_copy,
                hands_on_min=hands * share,
                wait_min=wait * (1 if kind == "out" else share),
            )
        )
    job = Job(copies=copies, shop=shop, start=start)
    return set_times(filled(ScheduleResult, steps=tuple(steps)), job)


def graph_of(result):
    """What has to precede what, with how long it takes, written down anew.

    Each step waits for the one before it; what comes after the test patch for the sealer
    before it, the signing also for the patch's cure; the next copy for hands that took the
    last one out; hands do one thing at a time in the order that the result gives.
    """
    graph = nx.DiGraph()
    tasks = {}
    for task in result.tasks:
        tasks.setdefault((task.label, task.copy), []).append(task)
    by_step = {(task.step, task.copy): task for task in result.tasks}
    for task in result.tasks:
        key = (task.step, task.copy)
        graph.add_edge(key, "end", weight=task.end_min - task.start_min)
        before = by_step.get((task.step - 1, task.copy))
        if before is not None and before.label == "patch":
            before = tasks["seal", 0][0]
        if task.label == "close":
            before = tasks["rest", 0][0] if task.copy == 1 else None
            if task.copy > 1:
                out = tasks["out", task.copy - 1][0]
                weight = out.hands_end_min - out.start_min
                graph.add_edge((out.step, out.copy), key, weight=weight)
        if task.label == "measure":
            before = None
            for last in (each for name, each in tasks.items() if name[0] == "trim"):
                weight = last[0].end_min - last[0].start_min
                graph.add_edge((last[0].step, last[0].copy), key, weight=weight)
        if task.label == "sign":
            patch = tasks["patch", 0][0]
            weight = patch.end_min - patch.start_min
            graph.add_edge((patch.step, 0), key, weight=weight)
        if before is not None:
            weight = before.end_min - before.start_min
            graph.add_edge((before.step, before.copy), key, weight=weight)
    ordered = sorted(result.tasks, key=lambda task: (task.start_min, task.hands_end_min))
    for one, other in itertools.pairwise(ordered):
        key, after = (one.step, one.copy), (other.step, other.copy)
        weight = max(
            one.hands_end_min - one.start_min, graph.get_edge_data(key, after, {}).get("weight", 0)
        )
        graph.add_edge(key, after, weight=weight)
    return graph


minutes = st.tuples(st.integers(1, 90), st.sampled_from([0, 0, 0, 5, 30, 240, 960]))


@settings(max_examples=60, deadline=None)
@given(times=st.lists(minutes, min_size=25, max_size=25), copies=st.integers(1, 5))
def test_the_end_is_the_longest_path(times, copies):
    """networkx's dag_longest_path_length over the same precedence, working round the clock."""
    result = job_of(times, copies=copies)
    assert result.finish_min == pytest.approx(nx.dag_longest_path_length(graph_of(result)))
    chain = [task for task in result.tasks if task.is_critical]
    assert all(task.slack_min == pytest.approx(0, abs=1e-6) for task in chain)
    assert max(task.end_min for task in chain) == pytest.approx(result.finish_min)
    assert min(task.start_min for task in chain) == 0


@settings(max_examples=60, deadline=None)
@given(
    times=st.lists(minutes, min_size=25, max_size=25),
    copies=st.integers(1, 4),
    hours=st.sampled_from([(8, 17), (7, 15.5), (0, 24), (6, 22)]),
    start=st.sampled_from([None, "2026-12-01 08:00", "2026-12-01 19:30", "2026-12-01 03:15"]),
)
def test_hands_do_one_thing_at_a_time_and_go_home(times, copies, hours, start):
    shop = Shop(day_start_h=hours[0], day_end_h=hours[1])
    result = job_of(times, copies=copies, shop=shop, start=start)
    ordered = sorted(result.tasks, key=lambda task: task.start_min)
    for one, other in itertools.pairwise(ordered):
        assert other.start_min >= one.hands_end_min - 1e-6
    by_step = {(task.step, task.copy): task for task in result.tasks}
    for task in result.tasks:
        assert task.start_min <= task.hands_end_min <= task.end_min <= result.finish_min + 1e-6
        clock_h = (result.first_start_h + task.start_min / 60) % 24
        if hours != (0, 24):
            assert hours[0] - 1e-6 <= clock_h <= hours[1] + 1e-6
            assert clock_h + (task.hands_end_min - task.start_min) / 60 <= hours[1] + 1e-6
        if task.label in ("pour", "cast"):  # the cup is setting: nothing comes between
            assert task.start_min == by_step[task.step - 1, task.copy].hands_end_min


def test_the_patch_cures_while_the_box_is_built():
    # Test patch 16 h: the box is built meanwhile, the first silicone waits for it.
    times = [(10, 0)] * 3 + [(10, 960)] + [(10, 0)] * 20
    result = job_of(times)
    at = {task.label: task for task in result.tasks if task.label != "weigh"}
    weigh = next(task for task in result.tasks if task.label == "weigh")
    assert at["box"].start_min < at["patch"].end_min <= weigh.start_min
    assert at["patch"].is_critical and not at["box"].is_critical
    assert at["box"].slack_min > 800


def test_casts_rest_beside_each_other():
    # One cast rests 24 h after it is out; ten of them do so beside each other.
    times = [(10, 0)] * 22 + [(10, 1440)] + [(10, 0)] * 2
    one, ten = job_of(times), job_of(times, copies=10)
    assert ten.finish_min - one.finish_min < 10 * 50
    assert {task.copy for task in ten.tasks} == set(range(11))


def test_every_mould_and_every_casting_has_its_time():
    # The card says 20 casts: 45 castings need three moulds, and no mould gives more.
    result = job_of([(5, 0), (5, 30)], copies=45, shop=Shop())
    assert (result.n_moulds, result.n_copies, result.n_told_copies) == (3, 45, 45)
    casts = {task.copy: task.mould for task in result.tasks if task.label == "out"}
    assert sorted(casts) == list(range(1, 46))
    assert all(list(casts.values()).count(mould) <= 20 for mould in (1, 2, 3))
    at = {(task.label, task.mould): task for task in result.tasks if not task.copy}
    once = {label for label, mould in at if mould == 1} - {
        label for label, mould in at if mould == 2
    }
    assert once == {"inspect", "seal", "patch", "sign", "measure"}
    for mould in (2, 3):
        # One original: it lies in no two boxes at once.
        assert at["clean", mould].start_min >= at["open", mould - 1].end_min - 1e-6
        first = min(task.start_min for task in result.tasks if task.mould == mould and task.copy)
        assert first >= at["rest", mould].end_min - 1e-6
    # No third mould is begun before the first is done with.
    last_out = max(task.hands_end_min for task in result.tasks if task.mould == 1 and task.copy)
    assert at["clean", 3].start_min >= last_out - 60


def test_ten_thousand_castings_end_but_are_not_all_told():
    few, many = (job_of([(1, 0)], copies=copies, shop=Shop()) for copies in (60, 10_000))
    assert few.n_told_copies == many.n_told_copies == 60
    assert max(task.copy for task in many.tasks) == 60 and many.n_moulds == 500
    # Hands are never idle: five minutes a casting, 15 a mould and five once, in days of 540.
    n_days, rest = divmod(10_000 * 5 + 500 * 15 + 5, 540)
    assert many.finish_min == n_days * 1440 + rest
    assert max(task.end_min for task in few.tasks) == few.finish_min


def test_time_to_spare_is_working_time():
    # Of two days of eight hours: what ends on Friday at 16:00 and what follows it on Monday
    # at 8:00 leave an hour to spare, not 64.
    days = Days(first_min=480.0, start=datetime.date(2026, 12, 4), shop=Shop())
    assert (
        days.worked_min(start_min=8 * 60, end_min=72 * 60) == 60.0
    )  # from Friday, 16:00 to Monday, 8:00
    assert days.latest(72 * 60 - 30, hands_min=30) == 8.5 * 60  # half an hour before: Friday, 16:30
    assert days.latest(72 * 60 + 30, hands_min=30) == 72 * 60 + 30


def begins(shop, first_min, at_min, hands_min):
    """First minute from then on from which hands do it without a break, minute by minute."""
    opens, closes = shop.day_start_h * 60, shop.day_end_h * 60
    while not opens <= (first_min + at_min) % 1440 <= closes - hands_min:
        at_min += 1
    return at_min


@settings(max_examples=40, deadline=None)
@given(
    times=st.lists(minutes, min_size=25, max_size=25),
    hours=st.sampled_from([(8, 17), (7, 15), (6, 22)]),
    chosen=st.integers(0, 20),
)
def test_begun_so_much_later_the_end_stays(times, hours, chosen):
    """One work is put off by all its spare time; all others follow in the same order."""
    shop = Shop(day_start_h=hours[0], day_end_h=hours[1])
    result = job_of(times, shop=shop)
    by_key = {(task.step, task.copy): task for task in result.tasks}
    graph = graph_of(result)
    tasks = [task for task in result.tasks if task.label not in ("pour", "cast")]
    late = tasks[chosen % len(tasks)]
    first_min = result.first_start_h * 60
    # The latest minute that lies so much working time later.
    start = late.start_min
    for _ in range(round(late.slack_min)):
        start += 1
        while not shop.day_start_h * 60 < (first_min + start) % 1440 <= shop.day_end_h * 60:
            start += 1
    begun, end = {}, 0.0
    for task in result.tasks:
        key = (task.step, task.copy)
        ready = [begun[k] + graph.edges[k, key]["weight"] for k in graph.predecessors(key)]
        at_min = max(ready, default=0.0)
        if task.label in ("pour", "cast"):
            begun[key] = at_min
        else:
            glued = by_key.get((task.step + 1, task.copy))
            hands = task.hands_end_min - task.start_min
            if task.label in ("weigh", "mix"):
                hands += glued.hands_end_min - glued.start_min
            # At the very end of a day what is put off begins with the next one.
            at_min = max(at_min, start) if task is late else at_min
            begun[key] = begins(shop, first_min, at_min, hands)
        end = max(end, begun[key] + task.end_min - task.start_min)
    assert end <= result.finish_min + 1e-6


def test_start_is_kept_and_must_be_a_time():
    result = job_of([(5, 0)], start="2026-12-01 09:30", shop=Shop())
    assert (result.start, result.first_start_h) == ("2026-12-01 09:30", 9.5)
    assert job_of([(5, 0)], start="2026-12-1 9:05").start == "2026-12-01 09:05"
    for start in ("tomorrow", "2026-13-01 08:00", "08:00", ""):
        with pytest.raises(InputError, match="start: found"):
            job_of([(5, 0)], start=start)


@pytest.mark.parametrize("hours", [(9, 9), (17, 8), (-1, 8), (8, 25)])
def test_a_day_without_hours(hours):
    with pytest.raises(InputError, match="working day: found"):
        job_of([(5, 0)], shop=Shop(day_start_h=hours[0], day_end_h=hours[1]))


def test_no_steps_take_no_time():
    result = set_times(filled(ScheduleResult), Job())
    assert (result.finish_min, result.tasks) == (0.0, ())


def days_of(result, start):
    """The dates on which hands work, by Python's calendar."""
    first = datetime.datetime.strptime(start, "%Y-%m-%d %H:%M")
    busy = [task for task in result.tasks if task.hands_end_min > task.start_min]
    return {(first + datetime.timedelta(minutes=task.start_min)).date() for task in busy}


def test_no_hands_at_the_weekend_nor_on_a_holiday():
    # 1 January 2027 is a Friday; cures of 20 h, each ending on the next day.
    start = "2026-12-30 08:00"
    shop = Shop(holidays=("2027-01-01",))
    times = [(30.0, 20 * 60.0)]
    worked = days_of(job_of(times, shop=shop, start=start), start)
    assert worked and all(day.weekday() < 5 for day in worked)
    assert datetime.date(2027, 1, 1) not in worked
    assert {datetime.date(2026, 12, 31), datetime.date(2027, 1, 4)} <= worked
    # A shop that works on Saturdays does so; undated, every day is worked on.
    worked = days_of(job_of(times, shop=replace(shop, free_days=("sun",)), start=start), start)
    assert datetime.date(2027, 1, 2) in worked and datetime.date(2027, 1, 3) not in worked
    undated = job_of(times, shop=shop)
    assert {int(task.start_min // 1440) for task in undated.tasks} >= set(range(7))


def test_a_cure_runs_on_over_the_weekend():
    # Poured on Friday at 16:00 for 20 h, it is done on Saturday; the next hands are Monday's.
    start = "2026-12-04 16:00"
    result = job_of([(30.0, 20 * 60.0)], start=start, shop=Shop())
    first, *later = sorted(result.tasks, key=lambda task: task.start_min)
    assert first.end_min == 30 + 20 * 60
    assert min(task.start_min for task in later) == 64 * 60  # Monday, 8:00


WEEK = '["mon", "tue", "wed", "thu", "fri", "sat", "sun"]'


@pytest.mark.parametrize(
    "line",
    [
        'free_days = ["someday"]',
        'free_days = "sat"',
        f"free_days = {WEEK}",
        'holidays = ["26-12-25"]',
        "holidays = [2026-12-25]",
    ],
)
def test_days_off_that_are_none(tmp_path, line):
    path = tmp_path / "shop.toml"
    path.write_text(line + "\n", encoding="utf-8")
    with pytest.raises(InputError, match="days"):
        load_shop(path)


def test_a_shop_that_never_works_is_told():
    shop = Shop(free_days=("mon", "tue", "wed", "thu", "fri", "sat", "sun"))
    with pytest.raises(InputError, match="every day"):
        job_of([(30.0, 60.0)], shop=shop, start="2026-12-01 08:00")
