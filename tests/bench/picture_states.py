"""Pictures of page and view in many states, each judged by axe and by its width.

python tests/bench/picture_states.py FOLDER [WORD ...]: states whose name holds a WORD, or all.
A line a state: what axe finds (WCAG 2.2 A and AA), what the console says, whether it is too wide.
"""

import sys
import tempfile
from pathlib import Path

import httpx

sys.path.insert(0, str(Path(__file__).parents[1]))
import page_server
from axe_playwright_python.sync_playwright import Axe
from browser import CHROMIUM_FLAGS, chromium_path
from playwright.sync_api import Error, sync_playwright

from castplan.door import plan

ROOT = Path(__file__).parents[2]
RULES = {
    "runOnly": {
        "type": "tag",
        "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"],
    }
}
WIDE, PHONE, ZOOMED = (1440, 900), (390, 844), (320, 256)  # the last is 1280 x 1024 at 400 %
CARDS = ("part", "kind", "split", "stand", "air", "box", "materials", "files")
NO_PICTURE = "HTMLCanvasElement.prototype.getContext = () => null;"


def click(selector):
    """An act: press what is there."""
    return lambda page: page.click(selector)


def card(name):
    """An act: open a decision."""
    return lambda page: page.click(f"#head-{name} button")


def both(*acts):
    """Several acts one after the other."""

    def act(page):
        for each in acts:
            each(page)

    return act


def nothing(page):
    """An act: none."""


def unfold(page):
    """An act: open all that is folded."""
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")


def offline(page):
    """An act: the line breaks while something is changed."""
    page.context.set_offline(True)
    page.click("#head-materials button")
    page.get_by_label("Castings", exact=True).fill("3")
    page.get_by_label("Castings", exact=True).press("Tab")
    page.wait_for_selector("#doing:has-text('No answer')")


def mismeasured(page):
    """An act: a length that does not fit the part."""
    page.click("#head-part button")
    page.fill("input[name=measured]", "longest=1mm")
    page.click("#card-part button:has-text('Check')")
    page.wait_for_selector("#card-part .error")


PAGE = {
    "home": ("", ".list", nothing),
    "home all": ("", ".list", unfold),
    "home search": ("", ".list", lambda page: page.fill("input[type=search]", "nothing so called")),
    "plan": ("#{hook}", ".castview-canvas", nothing),
    **{f"plan {name}": ("#{hook}", ".castview-canvas", card(name)) for name in CARDS},
    "plan folds": ("#{hook}", ".castview-canvas", both(card("split"), unfold)),
    "plan open mould": ("#{bezel}", ".castview-canvas", card("split")),
    "plan inches": ("#{hook}", ".castview-canvas", click(".units button:has-text('inch')")),
    "plan mismeasured": ("#{hook}", ".castview-canvas", mismeasured),
    "plan offline": ("#{hook}", ".castview-canvas", offline),
    "plan vent asked": (
        "#{hook}",
        ".castview-canvas",
        both(card("air"), click("#card-air button:has-text('Add a vent')")),
    ),
    "plan length": ("#{hook}", ".castview-canvas", click("#measure")),
    "plan turning": ("#{hook}", ".castview-canvas", click(".keys summary")),
    "units": ("#{units}", ".wrong .controls button", nothing),
    "wrong": ("#{wrong}", ".wrong .decision", nothing),
    "bench first": ("#{hook}/bench/1", "#card-step-1", nothing),
    "bench hold": ("#{hook}/bench/{hold}", ".holds", nothing),
    "bench hold unsigned": ("#{hook}/bench/{hold}", ".holds", click(".steps-nav .main")),
    "bench weigh": ("#{hook}/bench/{weigh}", ".mix", nothing),
    "bench timer": ("#{hook}/bench/{pour}", ".step", click(".step .row button >> nth=0")),
    "bench all": ("#{hook}/bench/all", ".steps", nothing),
    "casts": ("#{hook}/casts", "form", unfold),
    "compare": ("#compare/{hook},{bezel}", "thead th", nothing),
    "compare nothing": ("#compare/{units},{wrong}", ".wrong", nothing),
}
BLIND = {
    "plan blind": ("#{hook}", "#room .waiting", card("air")),
    "plan blind place": (
        "#{hook}",
        "#room .waiting",
        both(card("air"), click("#card-air button:has-text('Add a vent')")),
    ),
}
VIEW = ("turn", "split", "cut", "holds", "thick", "pour", "measure", "watch")


def jobs(client):
    """Keys of the jobs, and numbers of steps worth a look."""

    def add(path, **units):
        data = path.read_bytes() if isinstance(path, Path) else path[1]
        name = path.name if isinstance(path, Path) else path[0]
        made = client.post("/api/jobs", params={"name": name, **units}, content=data).json()
        while client.get(f"/api/jobs/{made['key']}", params={"wait": 20}).json()["plan"][
            "state"
        ] in ("waiting", "busy"):
            pass
        return made["key"]

    samples = ROOT / "sample_parts"
    keys = {
        "hook": add(samples / "coat_hook.stl", units="mm"),
        "bezel": add(samples / "lamp_bezel.stl", units="mm"),
        "posts": add(samples / "posts.stl", units="mm"),
        "units": add(samples / "sliding_catch.stl"),
        "wrong": add(("broken.stl", b"no mesh"), units="mm"),
    }
    steps = client.get(f"/api/jobs/{keys['hook']}/cards").json()["steps"]
    first = lambda test: next(step["number"] for step in steps if test(step))  # noqa: E731
    keys["hold"] = first(lambda step: step["is_hold"])
    keys["weigh"] = first(lambda step: step["mixes"] and not step["is_pour"])
    keys["pour"] = first(lambda step: step["is_pour"])
    return keys


class Camera:
    """Takes the pictures."""

    def __init__(self, browser, folder, words):
        self.browser, self.folder, self.words = browser, folder, words
        self.n = 0

    def take(self, name, size, scheme, address, shown, act, *, script="", media="screen"):
        """One state: its picture and its line."""
        name = f"{name} {size[0]} {scheme}"
        if self.words and not any(word in name for word in self.words):
            return
        context = self.browser.new_context(
            viewport={"width": size[0], "height": size[1]},
            color_scheme=scheme,
            reduced_motion="reduce",
        )
        if script:
            context.add_init_script(script)
        page, said = context.new_page(), []
        page.set_default_timeout(60_000)
        page.on("console", lambda one: said.append(one.text) if one.type == "error" else None)
        page.on("pageerror", lambda error: said.append(str(error)))
        try:
            page.goto(address)
            page.wait_for_selector(shown)
            act(page)
            page.emulate_media(media=media)
            page.wait_for_timeout(700)
            found = Axe().run(page, options=RULES).response["violations"]
            told = [f"{one['id']}: {one['nodes'][0]['html'][:90]}" for one in found]
            if page.evaluate("document.documentElement.scrollWidth > innerWidth"):
                told.append("too wide")
            page.screenshot(path=self.folder / f"{name.replace(' ', '-')}.png")
        except Error as error:
            told = [str(error).splitlines()[0]]
        print(f"{name}: {'; '.join(told + said) or 'nothing found'}", flush=True)
        self.n += 1
        context.close()


def main():
    """Take them all."""
    folder, words = Path(sys.argv[1]), sys.argv[2:]
    folder.mkdir(parents=True, exist_ok=True)
    kept = Path(tempfile.mkdtemp())
    plan(ROOT / "sample_parts" / "coat_hook.stl", unit="mm").write(kept / "plan")
    file = (kept / "plan" / "view.html").as_uri()
    with (
        page_server.serving(kept / "jobs") as run,
        httpx.Client(
            base_url=run.url, headers={"x-castplan-token": page_server.TOKEN}, timeout=100
        ) as client,
        sync_playwright() as playwright,
    ):
        keys = jobs(client)
        flags = {"executable_path": chromium_path(), "args": list(CHROMIUM_FLAGS)}
        camera = Camera(playwright.chromium.launch(**flags), folder, words)

        def page(name, size, scheme, states=None, script="", **how):
            where, shown, act = (states or PAGE)[name]
            address = f"{run.url}/{where.format(**keys)}"
            camera.take(f"page {name}", size, scheme, address, shown, act, script=script, **how)

        def view(name, size, scheme, **how):
            act = click(f"#card-{name} .head")
            camera.take(f"view {name}", size, scheme, file, "body.is-live", act, **how)

        for name in PAGE:
            page(name, WIDE, "light")
        for name in BLIND:
            page(name, WIDE, "light", BLIND, NO_PICTURE)
        few = ("home", "plan", "plan air", "units", "bench hold", "bench weigh", "casts", "compare")
        for name in (*few, "plan box", "bench timer", "bench all", "plan vent asked"):
            page(name, PHONE, "light")
        for name in few:
            page(name, WIDE, "dark")
            page(name, PHONE, "dark")
            page(name, ZOOMED, "light")
        page("plan split", WIDE, "light", media="print")
        for name in VIEW:
            view(name, WIDE, "light")
        for name in ("split", "pour", "cut"):
            for size, scheme in ((PHONE, "light"), (WIDE, "dark"), (ZOOMED, "light")):
                view(name, size, scheme)
        view("split", PHONE, "dark", media="print")
        print(f"{camera.n} states")


if __name__ == "__main__":
    main()
