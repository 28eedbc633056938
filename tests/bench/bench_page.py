"""How soon the page answers a change: numbers and picture, against a bare request of the same run.

python tests/bench/bench_page.py [PART] [--triangles N]: times in ms, as a browser sees them, and
the processor's time that server and page take for it, which other work on the machine leaves
as it is.
"""

import argparse
import statistics
import sys
import tempfile
import time
from pathlib import Path

import httpx
import numpy as np
import trimesh

sys.path.insert(0, str(Path(__file__).parents[1]))
import page_server
from browser import CHROMIUM_FLAGS, chromium_path
from playwright.sync_api import sync_playwright

from castplan.geometry.refine import split_edges

ROOT = Path(__file__).parents[2]
BARE = """async () => { const times = [];
for (let k = 0; k < 21; k += 1) {
  const from = performance.now(); await (await fetch('/api/about')).json();
times.push(performance.now() - from); } return times; }"""
# From an act to the last answer of a kind that it brings, and the first still moment after it.
WATCH = """async ([act, part, value]) => {
performance.clearResourceTimings();
const all = () => performance.getEntriesByType('resource');
const seen = (kind) => all().filter((one) => one.name.includes(kind));
const places = { numbers: document.getElementById('column'),
  picture: document.getElementById('room') };
const before = Object.fromEntries(Object.entries(places).map(([name, one]) =>
  [name, one.dataset.at]));
const start = performance.now(), told = {};
if (act === 'set') { const input = [...document.querySelectorAll('label')].find((one) =>
  one.textContent.startsWith(part)).querySelector('input');
  input.value = value; input.dispatchEvent(new Event('change', { bubbles: true })); }
else [...document.querySelectorAll('button')].find((one) => one.textContent === act).click();
const frame = () => new Promise((go) => requestAnimationFrame(() => setTimeout(go)));
while (performance.now() - start < 60000 && Object.keys(told).length < 2) {
  await frame();
  for (const [name, one] of Object.entries(places)) {
    if (name in told || one.dataset.at === before[name]) continue;
    await frame(); told[name] = performance.now() - start;
  }
}
await new Promise((go) => setTimeout(go, 1500));
return { ...told,
  sent: seen('/view').reduce((sum, one) => sum + one.transferSize, 0) }; }"""


def part_of(path, n_triangles):
    """A mesh as a file, its facets split until there are so many."""
    mesh = trimesh.load(path)
    points, faces = np.asarray(mesh.vertices), np.asarray(mesh.faces)
    while 2 * len(faces) < n_triangles:
        points, faces, _ = split_edges(points, faces, np.ones((len(faces), 3), dtype=bool))
    print(f"{len(faces):,} triangles")
    return trimesh.Trimesh(points, faces, process=False).export(file_type="stl")


def planned(client, data):
    """Key of the job, once its plan stands."""
    made = client.post("/api/jobs", params={"name": "part.stl", "units": "mm"}, content=data)
    key = made.json()["key"]
    client.patch(f"/api/jobs/{key}", json={"at": 1, "choices": {"mould": "two-part"}})
    begun = time.perf_counter()
    while client.get(f"/api/jobs/{key}", params={"wait": 20}).json()["plan"]["state"] != "done":
        pass
    print(f"first plan {time.perf_counter() - begun:.1f} s")
    return key


def main():
    """Print the table."""
    asked = argparse.ArgumentParser()
    asked.add_argument("part", nargs="?", default=str(ROOT / "sample_parts" / "coat_hook.stl"))
    asked.add_argument("--triangles", type=int, default=100_000)
    given = asked.parse_args()
    folder = Path(tempfile.mkdtemp()) / "jobs"
    data = part_of(given.part, given.triangles)
    headers = {"x-castplan-token": page_server.TOKEN}
    with (
        page_server.serving(folder) as run,
        httpx.Client(base_url=run.url, headers=headers, timeout=100) as client,
        sync_playwright() as playwright,
    ):
        key = planned(client, data)
        browser = playwright.chromium.launch(
            executable_path=chromium_path(), args=list(CHROMIUM_FLAGS)
        )
        page = browser.new_context(reduced_motion="reduce").new_page()
        page.goto(f"{run.url}/#{key}")
        page.wait_for_selector(".castview-canvas")
        page.wait_for_timeout(3000)
        cdp = page.context.new_cdp_session(page)
        # Of the page's own thread, by the processor's clock.
        cdp.send("Performance.enable", {"timeDomain": "threadTicks"})

        def page_s():
            told = cdp.send("Performance.getMetrics")["metrics"]
            return next(one["value"] for one in told if one["name"] == "TaskDuration")

        bare = statistics.median(page.evaluate(BARE))
        print(f"bare request {bare:.1f} ms")
        for act in (
            ["set", "Silicone above", 14],
            ["set", "Silicone above", 17],
            ["set", "Boards", 9],
            ["set", "Castings", 4],
            ["Undo", "", None],
            ["Undo", "", None],
            ["Redo", "", None],
        ):
            server, shown = time.process_time(), page_s()
            told = page.evaluate(WATCH, act)
            used = 1000 * (time.process_time() - server), 1000 * (page_s() - shown)
            times = [
                f"{told[name]:.0f} ms = {told[name] / bare:.0f}x" for name in ("numbers", "picture")
            ]
            name = " ".join(str(word) for word in act if word)
            sent = f"{told['sent']:,} bytes"
            cpu = f"server {used[0]:.0f} ms, page {used[1]:.0f} ms of processor"
            print(f"{name:24} numbers {times[0]}, picture {times[1]}, {sent}; {cpu}")
        browser.close()


if __name__ == "__main__":
    main()
