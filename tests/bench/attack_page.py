"""Attacks on the page's server, in a process of its own, and how each ended.

    python tests/bench/attack_page.py [--uploads 50] [--jobs 200] [--minutes 10]

uploads      So many at once: whole ones, damaged ones, some a few bytes at a time, some that
             break off half way, some that tell a false length. Whole ones are planned.
jobs         One after the other, every tenth with its cards, view and sheets: memory, open
             files, threads, and what lies in home and in the folder for drafts.
minutes      Requests made of the interface's own document by schemathesis, each kind again
             and again: no answer of 500, and the most memory that the server takes.

Linux only. Not a test: the tests have the short versions.
"""

import argparse
import collections
import concurrent.futures
import os
import random
import socket
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

LONG_S = 30.0
MOST_MB = 3000.0
QUICK = {"mould": "open", "draw": [0.0, 0.0, 1.0]}  # what a plan of a box takes least time by
BOX = page_server.stl_of(shapes.box(40.0, 30.0, 20.0))
WAYS = ("whole", "slow", "damaged", "breaks off", "says too much", "whole", "no mesh")


class Server:
    """A server in a process of its own."""

    def __init__(self, place):
        self.home, self.drafts = place / "home", place / "drafts"
        self.drafts.mkdir()
        env = {**os.environ, "CASTPLAN_HOME": str(self.home), "TMPDIR": str(self.drafts)}
        command = [sys.executable, "-m", "castplan", "serve", "--no-browser"]
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=env)
        url = self.process.stdout.readline().split()[3]
        self.url = url.rstrip("/")
        page = httpx.get(url, timeout=120).text
        self.token = page.split('name="castplan-token" content="')[1].split('"')[0]
        self.watched = psutil.Process(self.process.pid)

    def client(self):
        """Who may change things."""
        headers = {"x-castplan-token": self.token}
        return httpx.Client(base_url=self.url, headers=headers, timeout=600)

    def memory_mb(self):
        """What it holds of the machine's memory."""
        return self.watched.memory_info().rss / 1e6

    def held(self):
        """Memory [MB], open files, threads, files of the home, drafts."""
        return (
            self.memory_mb(),
            self.watched.num_fds(),
            self.watched.num_threads(),
            sum(path.is_file() for path in self.home.rglob("*")),
            sum(1 for _ in self.drafts.iterdir()),
        )

    def end(self):
        """Whether it was still up; away with it."""
        is_up = self.process.poll() is None
        self.process.kill()
        self.process.wait()
        return is_up


def planned(client, key):
    """The end of a job's plan."""
    state = "waiting"
    while state in ("waiting", "busy"):
        told = client.get(f"/api/jobs/{key}", params={"wait": 20}).json()
        state = told["plan"]["state"]
    return state


def send_raw(server, name, told_length, pieces, *, pause_s=0.0, is_cut=False):
    """An upload by hand: the status of its answer, or how it ended without one."""
    host, port = server.url.removeprefix("http://").split(":")
    head = (
        f"POST /api/jobs?name={name}&units=mm HTTP/1.1\r\nhost: {host}:{port}\r\n"
        f"x-castplan-token: {server.token}\r\ncontent-length: {told_length}\r\n\r\n"
    )
    with socket.create_connection((host, int(port)), timeout=120) as line:
        line.sendall(head.encode())
        for piece in pieces:
            line.sendall(piece)
            time.sleep(pause_s)
        if is_cut:
            return "hung up on it"
        answer = line.recv(65536).decode("latin-1")
    return answer.split(" ")[1] if answer else "no answer"


def upload(server, number):
    """One upload of the crowd: its way, how it was answered, how its plan ended, seconds."""
    way, name = WAYS[number % len(WAYS)], f"{number}.stl"
    body = page_server.stl_of(shapes.box(20.0 + number, 30.0, 20.0))
    begun, state = time.monotonic(), ""
    if way == "slow":
        pieces = [body[k : k + 40] for k in range(0, len(body), 40)]
        code = send_raw(server, name, len(body), pieces, pause_s=0.5)
    elif way == "breaks off":
        code = send_raw(server, name, len(body), [body[: len(body) // 2]], is_cut=True)
    elif way == "says too much":
        code = send_raw(server, name, 10 * len(body), [body])
    else:
        sent = {"damaged": body[: len(body) // 2], "no mesh": b"\xff" * 5000}.get(way, body)
        with server.client() as client:
            params = {"name": name, "units": "mm"}
            answer = client.post("/api/jobs", params=params, content=sent)
            code = str(answer.status_code)
            if answer.status_code == 201:
                state = planned(client, answer.json()["key"])
    return way, f"{code} {state}".strip(), time.monotonic() - begun


def uploads(count, place):
    """Many at once."""
    server = Server(place)
    before_mb, peak_mb = server.memory_mb(), []
    with concurrent.futures.ThreadPoolExecutor(count) as crowd:
        tries = [crowd.submit(upload, server, number) for number in range(count)]
        answers = []
        with server.client() as client:
            while any(not each.done() for each in tries):
                begun = time.monotonic()
                assert client.get("/api/about").status_code == 200
                answers.append(time.monotonic() - begun)
                peak_mb.append(server.memory_mb())
                time.sleep(0.5)
    ends, longest_s = collections.defaultdict(collections.Counter), 0.0
    for each in tries:
        way, end, seconds = each.result()
        ends[way][end] += 1
        longest_s = max(longest_s, seconds)
    with server.client() as client:
        jobs = client.get("/api/jobs").json()["jobs"]
        states = collections.Counter(planned(client, job["key"]) for job in jobs)
    # Each mesh that was taken in, and nothing half received beside them.
    meshes = sorted(path.name for path in (server.home / "jobs" / "meshes").iterdir())
    halves = [name for name in meshes if not name.endswith((".stl", ".png"))]
    said = "; ".join(f"{way}: {dict(each)}" for way, each in sorted(ends.items()))
    return (
        f"{said}; jobs kept {dict(states)}; half received files left {len(halves)}; the longest "
        f"took {longest_s:.0f} s, another request meanwhile {max(answers):.2f} s at most; memory "
        f"{before_mb:.0f} MB before, {max(peak_mb):.0f} MB at most; "
        f"{'still up' if server.end() else 'GONE'}"
    )


def jobs(count, place):
    """Many jobs in a row."""
    server, ends, longest_s, rows = Server(place), collections.Counter(), 0.0, {}
    with server.client() as client:
        for number in range(1, count + 1):
            begun = time.monotonic()
            params = {"name": f"{number}.stl", "units": "mm"}
            told = client.post("/api/jobs", params=params, content=BOX).json()
            key, change = told["key"], {"choices": QUICK, "at": told["at"]}
            client.patch(f"/api/jobs/{key}", json=change).raise_for_status()
            ends[planned(client, key)] += 1
            if number % 10 == 0:
                for name in ("cards", "view", "files/sheets.pdf"):
                    ends[client.get(f"/api/jobs/{key}/{name}").status_code] += 1
            longest_s = max(longest_s, time.monotonic() - begun)
            if number in (1, 20, 50, 100, 150, count):
                rows[number] = server.held()
    server.end()
    said = "; ".join(
        "after {}: {:.0f} MB, {} handles, {} threads, {} files in home, {} drafts".format(n, *held)
        for n, held in rows.items()
    )
    return f"{dict(ends)}; {said}; the longest took {longest_s:.1f} s"


def requests(minutes, place):
    """Requests of every kind that the document tells of, until the time is up."""
    import schemathesis
    from hypothesis import HealthCheck, Phase, given, seed, settings

    server, peak_mb = Server(place), 0.0
    url, headers = server.url, {"x-castplan-token": server.token}
    params, there = {"name": "box.stl", "units": "mm"}, {}
    schema = schemathesis.openapi.from_dict(httpx.get(f"{url}/api/openapi.json").json())
    kinds = [each.ok() for each in schema.get_all_operations()]
    until_s, codes, slow, round_ = time.monotonic() + 60 * minutes, {}, 0, 0
    while time.monotonic() < until_s:
        round_ += 1
        # Some requests take jobs away: each round has one that is there.
        with server.client() as client:
            there["key"] = client.post("/api/jobs", params=params, content=BOX).json()["key"]
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
                    case.path_parameters["key"] = there["key"]
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
                peak_mb = max(peak_mb, server.memory_mb())

            run()
    said = ", ".join(f"{n} x {code}" for code, n in sorted(codes.items()))
    return (
        f"{sum(codes.values())} requests: {said}; {slow} over {LONG_S:.0f} s, at most "
        f"{peak_mb:.0f} MB ({'within' if peak_mb < MOST_MB else 'OVER'} {MOST_MB:.0f}); "
        f"{'still up' if server.end() else 'GONE'}"
    )


def main():
    """Run what is asked for, and print a line of the table for each."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--uploads", type=int, default=0)
    parser.add_argument("--jobs", type=int, default=0)
    parser.add_argument("--minutes", type=float, default=0.0)
    asked = parser.parse_args()
    random.seed(7)
    attacks = {
        "uploads at once": (uploads, asked.uploads),
        "jobs in a row": (jobs, asked.jobs),
        "minutes of requests": (requests, asked.minutes),
    }
    for name, (work, count) in attacks.items():
        if count:
            with tempfile.TemporaryDirectory() as place:
                print(f"{count:g} {name}: {work(count, Path(place))}", flush=True)


if __name__ == "__main__":
    main()
