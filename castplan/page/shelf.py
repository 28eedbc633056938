"""The list of jobs: what there is, opened, named, copied, put away, deleted."""

from starlette.concurrency import run_in_threadpool
from starlette.responses import JSONResponse, Response

from castplan.errors import InputError
from castplan.page import answers, samples
from castplan.page.carry import clean_name
from castplan.page.desk import Desk
from castplan.page.outcome import in_a_line
from castplan.page.store import Store
from castplan.page.thumbs import BLANK, sample_png


class Shelf:
    """Routes over the jobs as a list.

    Parameters
    ----------
    store : Store
    desk : Desk
    """

    def __init__(self, store: Store, desk: Desk):
        self._store = store
        self._desk = desk

    def routes(self):
        """Paths, methods and what answers them, as `Api.app` lists them."""
        job = "/api/jobs/{key}"
        return [
            ("/api/jobs", "GET", self.jobs),
            ("/api/samples/{name}", "POST", self.sample),
            ("/api/samples/{name}/picture", "GET", self.sample_picture),
            (job + "/copy", "POST", self.copy),
            (job + "/archive", "POST", self.archive),
            (job + "/remove", "POST", self.remove),
            (job + "/name", "POST", self.rename),
            (job + "/picture", "GET", self.picture),
        ]

    async def jobs(self, request):
        """All jobs, the one changed last first, and how each stands."""
        found = await run_in_threadpool(self._store.all)
        told = [{**answers.brief(job), "plan": self._stands(job)} for job in found]
        return JSONResponse({"jobs": told})

    def _stands(self, job):
        outcome = self._desk.look(job)
        told = job.answered if job.answered.get("at") == job.at else {}
        state = told.get("state", "") if outcome is None else outcome.state
        return {"state": state, "answer": in_a_line(told)}

    async def sample(self, request):
        """A new job from a sample part."""
        path, choices = samples.find(request.path_params["name"])
        self._desk.check_room()
        draft = self._store.draft()
        try:
            draft.write_bytes(path.read_bytes())
            mesh = await run_in_threadpool(self._store.keep_mesh, draft, suffix="stl")
        finally:
            draft.unlink(missing_ok=True)
        name = path.stem.replace("_", " ")
        key = await run_in_threadpool(
            lambda: self._store.add(name=name, mesh=mesh, suffix="stl", choices=choices)
        )
        return await self._told(key, status=201)

    async def sample_picture(self, request):
        """A small picture of a sample part."""
        png = await run_in_threadpool(sample_png, request.path_params["name"])
        return Response(png, media_type="image/png")

    async def copy(self, request):
        """A second job with the same mesh and choices."""
        told = await answers.read_json(request)
        job = await run_in_threadpool(self._store.get, request.path_params["key"])
        name = answers.name_of_copy(job, told.get("name"))
        key = await run_in_threadpool(lambda: self._store.duplicate(job.key, name=name))
        return await self._told(key, status=201)

    async def archive(self, request):
        """Put a job away, or bring it back."""
        key, is_archived = await self._yes_or_no(request, "is_archived")
        await run_in_threadpool(lambda: self._store.archive(key, is_archived=is_archived))
        return await self._told(key)

    async def remove(self, request):
        """Delete a job, or bring it back."""
        key, is_deleted = await self._yes_or_no(request, "is_deleted")
        job = await run_in_threadpool(lambda: self._store.delete(key, is_deleted=is_deleted))
        if is_deleted:
            self._desk.stop(key)
        return JSONResponse(answers.brief(job))

    async def rename(self, request):
        """Give a job another name."""
        told = await answers.read_json(request)
        name = told.get("name")
        if not isinstance(name, str) or not name.strip():
            raise InputError("name", found="none", need="a name", do="Type one.")
        key = request.path_params["key"]
        await run_in_threadpool(lambda: self._store.rename(key, name=clean_name(name)))
        return await self._told(key)

    async def picture(self, request):
        """A small picture of a job's part; a blank one where none was drawn yet."""
        job = await run_in_threadpool(self._store.get, request.path_params["key"])
        path = self._store.picture_path(job.mesh)
        if path.exists():
            return Response(path.read_bytes(), media_type="image/png")
        return Response(BLANK, media_type="image/svg+xml")

    async def _yes_or_no(self, request, name):
        told = await answers.read_json(request)
        if not isinstance(told.get(name), bool):
            raise InputError(name, found="no yes or no", need="true or false", do="Say which.")
        return request.path_params["key"], told[name]

    async def _told(self, key, *, status=200):
        job = await run_in_threadpool(self._store.get, key)
        return JSONResponse(answers.whole(job, self._desk.ask(job)), status_code=status)
