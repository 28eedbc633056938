"""Kills, stops and requests by the hundred, and a table of how each ended.

    python tests/bench/attacks.py [--kills 100] [--stops 100] [--store-kills 50]
        [--jobs 200] [--minutes 10] [--memory-mb 3000]

kills        SIGKILL at any moment of `castplan plan --replace`, or just as it writes: the
             plan that was there, or the new one, is whole and sealed.
stops        SIGINT at any moment of a plan: exit 130, nothing left, the longest wait.
store kills  SIGKILL while the page's store writes without a pause: nothing told as saved is
             lost, and SQLite finds its file whole (PRAGMA integrity_check).
jobs         One after the other through the page's server: its memory after 50 and at the end.
minutes      Requests made of the interface's own document by schemathesis, each kind again
             and again: no answer of 500, and the most memory that the server takes.

Damaged files and folders by the thousand are `fuzz_files.py` and `fuzz_folders.py`.
Linux and macOS only. Not a test: the tests have the short versions.
"""

import argparse
import contextlib
import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import httpx
import psutil

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import page_server
import shapes

from castplan.files.plan_folder import read_plan
from castplan.page.store import Store

PART = Path(__file__).parents[2] / "sample_parts" / "coat_hook.stl"
PLAN = [sys.executable, "-m", "castplan", "plan", str(PART), "--units", "mm", "--mould", "two-part"]
LONG_S = 30.0
BOX = page_server.stl_of(shapes.box(40.0, 30.0, 20.0))


def listening():
    """Ctrl-C is heard, also where this was started in the background of a shell."""
    signal.signal(signal.SIGINT, signal.default_int_handler)


def start(*words):
    """A plan that was begun."""
    return subprocess.Popen(
        [*PLAN, *words],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        preexec_fn=listening,
    )


def is_whole(folder):
    """Whether a plan stands there as it was written."""
    try:
        read_plan(folder)
    except Exception as error:
        print(f"  {folder}: {error}")
        return False
    return True


def kills(count, place):
    """Kill plans that replace another."""
    out = place / "plan"
    begun = time.monotonic()
    assert start("--out", str(out)).wait() == 0
    whole_s = time.monotonic() - begun
    n_whole = n_replaced = 0
    for number in range(count):
        copies = str(2 + number)
        plan = start("--out", str(out), "--replace", "--copies", copies)
        if number % 2:  # while it writes, which is the last of what it does
            for line in plan.stderr:
                if line.startswith("view"):
                    break
            time.sleep(random.uniform(0.0, 0.4 * whole_s))
        else:
            time.sleep(random.uniform(0.0, 1.1 * whole_s))
        family = [*psutil.Process(plan.pid).children(recursive=True)] if plan.poll() is None else []
        for each in [plan, *family]:
            with contextlib.suppress(psutil.NoSuchProcess):
                each.kill()
        plan.communicate()
        # Between two renames the plan that was there has its other name.
        there = out if out.exists() else out.with_name("plan.previous")
        n_whole += is_whole(there)
        n_replaced += there == out and read_plan(out).job.copies == int(copies)
        if there != out:
            shutil.copytree(there, out)
        for draft in place.glob(".*.unfinished-*"):
            shutil.rmtree(draft)
    return f"{n_whole} whole ({n_replaced} of them the new one), {count - n_whole} lost"


def stops(count, place):
    """Ctrl-C at any moment of a plan."""
    ends, longest_s, n_left = {}, 0.0, 0
    for _ in range(count):
        plan = start("--out", str(place / "stopped"))
        time.sleep(random.uniform(0.3, 5.0))
        begun = time.monotonic()
        plan.send_signal(signal.SIGINT)
        plan.communicate()
        longest_s = max(longest_s, time.monotonic() - begun)
        ends[plan.returncode] = ends.get(plan.returncode, 0) + 1
        left = sorted(path.name for path in place.iterdir())
        n_left += left not in ([], ["stopped"]) or (left == ["stopped"] and plan.returncode != 0)
        shutil.rmtree(place / "stopped", ignore_errors=True)
    said = ", ".join(f"{count} x exit {code}" for code, count in sorted(ends.items()))
    return f"{said}; the longest took {longest_s:.2f} s, {n_left} left something"


def store_kills(count, place):
    """Kill a writer of the store."""
    jobs, saved, n_lost, n_broken = place / "jobs", 0, 0, 0
    for _ in range(count):
        writer = subprocess.Popen(
            [sys.executable, "-c", page_server.WRITER, str(jobs)], stdout=subprocess.PIPE, text=True
        )
        writer.stdout.readline()
        time.sleep(random.uniform(0.0, 0.2))
        writer.kill()
        told = [
            int(line) for line in writer.stdout.read().splitlines(keepends=True) if line[-1] == "\n"
        ]
        writer.wait()
        saved = max([saved, *told])
        with sqlite3.connect(jobs / "jobs.sqlite3") as base:
            n_broken += base.execute("PRAGMA integrity_check").fetchone() != ("ok",)
        base.close()
        store = Store(jobs)
        (job,) = store.all()
        numbers = [number for number, _, _ in store.versions(job.key)]
        n_lost += job.at < saved or numbers != list(range(numbers[0], job.at + 1))
        store.close()
    return f"{saved} changes told as saved, {n_lost} lost, {n_broken} files broken"


def served(place):
    """A server in a process of its own: process, address, token."""
    env = {**os.environ, "CASTPLAN_HOME": str(place / "home")}
    command = [sys.executable, "-m", "castplan", "serve", "--no-browser"]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=env)
    url = process.stdout.readline().split()[3]
    token = httpx.get(url).text.split('name="castplan-token" content="')[1].split('"')[0]
    return process, url.rstrip("/"), token


def jobs(count, place):
    """Many jobs in a row."""
    process, url, token = served(place)
    held_mb, longest_s, ends = {}, 0.0, {}
    with httpx.Client(base_url=url, headers={"x-castplan-token": token}, timeout=120) as client:
        for number in range(1, count + 1):
            begun = time.monotonic()
            params = {"name": f"{number}.stl", "units": "mm"}
            key = client.post("/api/jobs", params=params, content=BOX).json()["key"]
            state = "waiting"
            while state in ("waiting", "busy"):
                told = client.get(f"/api/jobs/{key}", params={"wait": 20}).json()
                state = told["plan"]["state"]
            ends[state] = ends.get(state, 0) + 1
            longest_s = max(longest_s, time.monotonic() - begun)
            held_mb[number] = psutil.Process(process.pid).memory_info().rss / 1e6
    process.kill()
    process.wait()
    first = min(50, count // 2)
    return (
        f"{ends}; {held_mb[first]:.0f} MB after {first}, {held_mb[count]:.0f} MB after {count}; "
        f"the longest took {longest_s:.1f} s"
    )


def requests(minutes, place, most_mb):
    """Requests of every kind that the document tells of, until the time is up."""
    import schemathesis
    from hypothesis import HealthCheck, Phase, given, seed, settings

    process, url, token = served(place)
    watched, peak_mb = psutil.Process(process.pid), 0.0
    headers = {"x-castplan-token": token}
    params = {"name": "box.stl", "units": "mm"}
    key = httpx.post(f"{url}/api/jobs", params=params, content=BOX, headers=headers).json()["key"]
    schema = schemathesis.openapi.from_dict(httpx.get(f"{url}/api/openapi.json").json())
    kinds = [each.ok() for each in schema.get_all_operations()]
    until_s, codes, slow, round_ = time.monotonic() + 60 * minutes, {}, 0, 0
    while time.monotonic() < until_s:
        round_ += 1
        for kind in kinds:
            if time.monotonic() > until_s:
                break

            @seed(round_)
            @settings(
                max_examples=15,
                deadline=None,
                database=None,
                phases=[Phase.generate],
                suppress_health_check=list(HealthCheck),
            )
            @given(case=kind.as_strategy())
            def run(case):
                nonlocal slow, peak_mb
                if case.path_parameters and "key" in case.path_parameters and random.random() < 0.7:
                    case.path_parameters["key"] = key
                case.headers = {**(case.headers or {}), **headers}
                begun = time.monotonic()
                answer = case.call(base_url=url)
                slow += time.monotonic() - begun > LONG_S
                codes[answer.status_code] = codes.get(answer.status_code, 0) + 1
                if answer.status_code == 500:
                    print(
                        f"  {answer.status_code} {case.method} {case.formatted_path}",
                        answer.text[:300],
                    )
                peak_mb = max(peak_mb, watched.memory_info().rss / 1e6)

            run()
    is_up = process.poll() is None
    process.kill()
    process.wait()
    said = ", ".join(f"{n} x {code}" for code, n in sorted(codes.items()))
    return (
        f"{sum(codes.values())} requests: {said}; {slow} over {LONG_S:.0f} s, at most "
        f"{peak_mb:.0f} MB ({'within' if peak_mb < most_mb else 'OVER'} {most_mb:.0f}); "
        f"{'still up' if is_up else 'GONE'}"
    )


def main():
    """Run what is asked for, and print a line of the table for each."""
    parser = argparse.ArgumentParser(description=__doc__)
    for name in ("kills", "stops", "store-kills", "jobs"):
        parser.add_argument(f"--{name}", type=int, default=0)
    parser.add_argument("--minutes", type=float, default=0.0)
    parser.add_argument("--memory-mb", type=float, default=3000.0)
    asked = parser.parse_args()
    random.seed(7)
    attacks = {
        "kills of a plan": (kills, asked.kills, ()),
        "stops of a plan": (stops, asked.stops, ()),
        "kills of the store": (store_kills, asked.store_kills, ()),
        "jobs in a row": (jobs, asked.jobs, ()),
        "minutes of requests": (requests, asked.minutes, (asked.memory_mb,)),
    }
    for name, (work, count, more) in attacks.items():
        if count:
            with tempfile.TemporaryDirectory() as place:
                print(f"{count:g} {name}: {work(count, Path(place), *more)}", flush=True)


if __name__ == "__main__":
    main()
