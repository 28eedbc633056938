"""What the page asks and is told: the routes of the server.

Everything the page can do goes through here. No name in a request becomes a
path: jobs are found by key in the store, files by a list of what there is.
"""

import asyncio
import json
from functools import partial

import anyio
from starlette.applications import Starlette
from starlette.background import BackgroundTask
from starlette.concurrency import run_in_threadpool
from starlette.responses import FileResponse, JSONResponse, Response
from starlette.routing import Route

from castplan import __version__
from castplan.errors import InputError
from castplan.page import answers, bench, box_parts, cards, pours, samples
from castplan.page.carry import pack_job, unpack_job
from castplan.page.choices import check_choices
from castplan.page.compare import compare
from castplan.page.desk import Desk
from castplan.page.document import openapi
from castplan.page.pages import asset, page
from castplan.page.reading import read_named
from castplan.page.scene_data import mesh_json, room_json
from castplan.page.shelf import Shelf
from castplan.page.sizes import sizes_of
from castplan.page.store import Missing, Store, StoredJob
from castplan.part import refuse
from castplan.part.read import FORMATS
from castplan.words.lengths import in_unit

CARRY_BYTES = 600_000_000
WAIT_S, N_LOOKS = 20.0, 3
N_PATIENT = 60  # requests that wait for a plan at once; each holds a thread
_MARK_BYTES = 2000

FILES = {
    "sheets.pdf": ("sheets.pdf", "application/pdf"),
    "details.pdf": ("details.pdf", "application/pdf"),
    "plan.json": ("plan.json", "application/json"),
    "boards.svg": ("boards.svg", "image/svg+xml"),
    "boards.dxf": ("boards.dxf", "image/vnd.dxf"),
    "mould.stl": ("solids/mould.stl", "model/stl"),
    "upper.stl": ("solids/upper_half.stl", "model/stl"),
    "lower.stl": ("solids/lower_half.stl", "model/stl"),
    "halves.3mf": ("solids/all.3mf", "model/3mf"),
}


class Api:
    """The routes over a store and a desk.

    Parameters
    ----------
    store : Store
    desk : Desk
    token : str
        Handed to the page, for what it changes.
    """

    def __init__(self, store: Store, desk: Desk, *, token: str):
        self._store = store
        self._desk = desk
        self._token = token
        # A mesh of the largest size fills the memory of a small computer: one at a time.
        self._reading = asyncio.Semaphore(1)
        self._patience = anyio.CapacityLimiter(N_PATIENT)

    def app(self) -> Starlette:
        """The ASGI application, without its guard."""
        job = "/api/jobs/{key}"
        routes = [
            ("/", "GET", self.page),
            ("/assets/{name}", "GET", self.asset),
            ("/api/openapi.json", "GET", self.document),
            ("/api/about", "GET", self.about),
            ("/api/jobs", "POST", self.upload),
            ("/api/import", "POST", self.take_in),
            ("/api/compare", "GET", self.compare),
            (job, "GET", self.job),
            (job, "PATCH", self.change),
            (job + "/undo", "POST", self.undo),
            (job + "/redo", "POST", self.redo),
            (job + "/stop", "POST", self.stop),
            (job + "/again", "POST", self.again),
            (job + "/parts", "POST", self.add_part),
            (job + "/marks/{name}", "PUT", self.mark),
            (job + "/sizes", "GET", self.sizes),
            (job + "/cards", "GET", self.cards),
            (job + "/drawings", "GET", self.drawings),
            (job + "/view", "GET", self.view),
            (job + "/mesh", "GET", self.mesh),
            (job + "/files/{name}", "GET", self.file),
            (job + "/pours", "GET", self.pours),
            (job + "/pours", "POST", self.log_pour),
            (job + "/pours/withdraw", "POST", self.withdraw),
            (job + "/pours.csv", "GET", self.pours_csv),
            (job + "/steps/{name}", "GET", self.step_picture),
            (job + "/export", "GET", self.export),
            *Shelf(self._store, self._desk).routes(),
        ]
        return Starlette(
            routes=[
                Route(path, answers.told(work), methods=[method]) for path, method, work in routes
            ],
            exception_handlers={404: answers.missing, 405: answers.missing},
        )

    # The page itself

    async def page(self, request):
        """The page."""
        return Response(page(self._token), media_type="text/html; charset=utf-8")

    async def asset(self, request):
        """A script or style of the page."""
        text, kind = asset(request.path_params["name"])
        return Response(text, media_type=kind)

    async def document(self, request):
        """This interface as an OpenAPI document."""
        return JSONResponse(openapi({name: kind for name, (_, kind) in FILES.items()}))

    async def about(self, request):
        """Version, samples, cards and formats."""
        return JSONResponse(
            {
                "version": __version__,
                "formats": list(FORMATS),
                "most_bytes": {name: refuse.max_file_bytes(name) for name in FORMATS},
                "samples": samples.names(),
                "cards": cards.card_choices(),
            }
        )

    # Jobs

    async def upload(self, request):
        """A new job from the mesh file that is the body."""
        choices = check_choices({"units": request.query_params.get("units") or None})
        self._desk.check_room()
        kept = await answers.receive_mesh(request, self._store, run=run_in_threadpool)
        return await self._added(**kept, choices=choices)

    async def add_part(self, request):
        """One part more in the box of a job: the mesh file that is the body, or its own again."""
        job, told = await self._get(request), request.query_params
        kept = {"name": job.name, "mesh": job.mesh, "suffix": job.suffix}
        if "name" in told:
            kept = await answers.receive_mesh(request, self._store, run=run_in_threadpool)
        merged = check_choices(box_parts.with_part(job.choices, kept))
        what = box_parts.CHOICE
        await run_in_threadpool(
            lambda: self._store.change(job.key, choices=merged, what=what, at=job.at)
        )
        return await self._told_job(job.key, status=201)

    async def _added(self, **job):
        key = await run_in_threadpool(lambda: self._store.add(**job))
        return await self._told_job(key, status=201)

    async def job(self, request):
        """A job, and how far its plan is; waits for the plan's end if asked to."""
        job = await self._get(request)
        seconds = answers.number_of(request.query_params.get("wait"), most=WAIT_S)
        outcome = await self._wait(job, seconds=seconds)
        job = await self._get(request)
        return JSONResponse(
            answers.whole(job, outcome if outcome.at == job.at else self._desk.ask(job))
        )

    async def change(self, request):
        """New choices; null takes one back to castplan's own."""
        told = await answers.read_json(request)
        job = await self._get(request)
        changes = told.get("choices")
        if not isinstance(changes, dict) or not changes:
            raise InputError("choices", found="none", need="some", do="Name what to change.")
        merged = check_choices({**job.choices, **changes})
        if changes.get("measured"):
            await self._check_reading(job, merged)
        what = ", ".join(sorted(changes))[:200]
        at = answers.version_of(told)
        await run_in_threadpool(
            lambda: self._store.change(job.key, choices=merged, what=what, at=at)
        )
        return await self._told_job(job.key)

    async def _check_reading(self, job, choices):
        """Refuse a length that does not fit the part, before it costs the plan that there is."""
        path = self._store.mesh_path(job.mesh, suffix=job.suffix)
        async with self._reading:
            await run_in_threadpool(read_named, path, job.name, choices)

    async def undo(self, request):
        """Back to the version before."""
        return await self._step(request, by=-1)

    async def redo(self, request):
        """Forth to the version after."""
        return await self._step(request, by=1)

    async def _step(self, request, *, by):
        at = answers.version_of(await answers.read_json(request))
        key = request.path_params["key"]
        await run_in_threadpool(lambda: self._store.step(key, by=by, at=at))
        return await self._told_job(key)

    async def stop(self, request):
        """Stop planning."""
        job = await self._get(request)
        self._desk.stop(job.key)
        return JSONResponse(answers.whole(job, self._desk.ask(job)))

    async def again(self, request):
        """Plan anew what was stopped or went wrong."""
        job = await self._get(request)
        return JSONResponse(answers.whole(job, self._desk.again(job)))

    async def mark(self, request):
        """Keep a tick or a timer of the bench."""
        told, name = await answers.read_json(request), request.path_params["name"]
        value = told.get("value")
        if len(name) > 80 or len(json.dumps(value)) > _MARK_BYTES:
            raise InputError("mark", found="too long a one", need="a short one", do="Shorten it.")
        key = request.path_params["key"]
        await run_in_threadpool(lambda: self._store.mark(key, name=name, value=value))
        return JSONResponse({"name": name, "value": value})

    async def sizes(self, request):
        """How large the part is, for each unit that its file may be in."""
        job = await self._get(request)
        path = self._store.mesh_path(job.mesh, suffix=job.suffix)
        async with self._reading:
            return JSONResponse({"sizes": await run_in_threadpool(sizes_of, path)})

    # What a plan shows

    async def cards(self, request):
        """The cards of a finished plan."""
        outcome, job = await self._finished(request)
        own = await asyncio.wrap_future(self._desk.own(job))
        unit = "inch" if request.query_params.get("unit") == "inch" else "mm"
        work = partial(cards.cards_of, outcome.plan, job.choices, own)
        return JSONResponse(in_unit(await run_in_threadpool(work), unit))

    async def drawings(self, request):
        """The drawings of a finished plan's cards."""
        outcome, _ = await self._finished(request)
        return JSONResponse(await run_in_threadpool(cards.drawings_of, outcome.plan))

    async def view(self, request):
        """The data of the 3D view."""
        _, job = await self._finished(request)
        known = frozenset(request.query_params.get("known", "").split(",")) - {""}
        future = self._desk.make(job, lambda plan, folder: room_json(plan, known))
        return Response(await asyncio.wrap_future(future), media_type="application/json")

    async def step_picture(self, request):
        """A picture of a step, as the booklet has it."""
        _, job = await self._finished(request)
        name = request.path_params["name"]
        future = self._desk.make(job, lambda plan, folder: bench.step_png(plan, name))
        return Response(await asyncio.wrap_future(future), media_type="image/png")

    async def mesh(self, request):
        """The part alone, whether or not its plan is made."""
        job = await self._get(request)
        path = self._store.mesh_path(job.mesh, suffix=job.suffix)
        async with self._reading:
            data = await run_in_threadpool(mesh_json, path, job.choices)
        return Response(data, media_type="application/json")

    async def file(self, request):
        """A file of the plan folder."""
        name = request.path_params["name"]
        if name not in FILES:
            raise answers.unknown("file", FILES)
        _, job = await self._finished(request)
        inner, kind = FILES[name]

        def read(plan, folder):
            path = folder() / inner
            return path.read_bytes() if path.exists() else None

        data = await asyncio.wrap_future(self._desk.make(job, read))
        if data is None:
            raise Missing(
                name,
                found="no such file in this plan",
                need="a mesh that bounds a solid",
                do="Mend the mesh with castplan repair.",
            )
        told = answers.as_download(f"{job.name} {name}", is_shown=name.endswith(".pdf"))
        return Response(data, media_type=kind, headers=told)

    async def pours(self, request):
        """The log of pours, and what its defects mean."""
        outcome, job = await self._finished(request)
        folder = self._store.log_folder(job.key)
        told = await run_in_threadpool(lambda: pours.told_log(pours.log_of(folder), outcome.plan))
        return JSONResponse(told)

    async def log_pour(self, request):
        """Log a pour; a line is never changed, only taken back."""
        told, job = await answers.read_json(request), await self._get(request)
        nest = None
        if job.choices.get(box_parts.CHOICE):  # where the parts lie is the plan's
            outcome, job = await self._finished(request)
            nest = outcome.plan.nest
        folder = self._store.log_folder(job.key)
        log = await run_in_threadpool(partial(pours.add_pour, folder, told, nest=nest))
        return JSONResponse({"line": len(log.lines)}, status_code=201)

    async def withdraw(self, request):
        """Take a line of the log back."""
        told, job = await answers.read_json(request), await self._get(request)
        of, why = told.get("of"), str(told.get("why") or "")[:200]
        if not isinstance(of, int) or isinstance(of, bool):
            raise InputError("of", found="no line", need="its number", do="Send it.")
        folder = self._store.log_folder(job.key)
        log = await run_in_threadpool(lambda: pours.withdraw(folder, of=of, why=why))
        return JSONResponse({"line": len(log.lines)}, status_code=201)

    async def pours_csv(self, request):
        """The log as a table."""
        job = await self._get(request)
        data = await run_in_threadpool(pours.csv_of, self._store.log_folder(job.key))
        told = answers.as_download(f"{job.name} casts.csv", is_shown=False)
        return Response(data, media_type="text/csv", headers=told)

    async def compare(self, request):
        """What two finished plans answer, side by side."""
        both = []
        for which in ("one", "other"):
            job = await run_in_threadpool(self._store.get, request.query_params.get(which, ""))
            outcome = await self._wait(job, seconds=WAIT_S)
            both.append((job, answers.done(outcome).plan))
        return JSONResponse(compare(*both))

    async def export(self, request):
        """The job as one file."""
        job = await self._get(request)
        draft = self._store.draft()
        remove = partial(draft.unlink, missing_ok=True)
        try:
            await run_in_threadpool(pack_job, self._store, job.key, draft)
        except BaseException:
            remove()
            raise
        told = answers.as_download(f"{job.name}.castplan.zip", is_shown=False)
        return FileResponse(
            draft, media_type="application/zip", headers=told, background=BackgroundTask(remove)
        )

    async def take_in(self, request):
        """A new job from a file that was exported."""
        draft = self._store.draft()
        try:
            await answers.receive(request, draft, most=CARRY_BYTES, name="job file")
            key = await run_in_threadpool(unpack_job, self._store, draft)
        finally:
            draft.unlink(missing_ok=True)
        return await self._told_job(key, status=201)

    async def _get(self, request) -> StoredJob:
        return await run_in_threadpool(self._store.get, request.path_params["key"])

    async def _told_job(self, key, *, status=200):
        job = await run_in_threadpool(self._store.get, key)
        outcome = await run_in_threadpool(self._desk.ask, job)
        return JSONResponse(answers.whole(job, outcome), status_code=status)

    async def _finished(self, request):
        job = await self._get(request)
        for _ in range(N_LOOKS):
            outcome = await self._wait(job, seconds=WAIT_S)
            if outcome.plan is not None or outcome.state in ("wrong", "stopped"):
                break
            job = await self._get(request)  # it may have been changed meanwhile
        return answers.done(outcome), job

    async def _wait(self, job, *, seconds):
        # Threads of their own, so that those who wait hold up nobody else.
        wait = partial(self._desk.wait, job, seconds=seconds)
        return await anyio.to_thread.run_sync(wait, limiter=self._patience)
