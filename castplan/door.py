"""The front door: a part becomes a plan, a plan becomes a folder, a folder a plan again.

Command, batch and page go through it, so that a mesh which bounds no solid, halves
that hold more than the plan says and the picture to turn are dealt with alike.
"""

from dataclasses import dataclass, replace
from html import escape
from pathlib import Path

from castplan.errors import GeometryError, InputError
from castplan.files import plan_folder, write
from castplan.job import Job
from castplan.mould.records import Solid
from castplan.nest.room import lay_parts
from castplan.part.close import Closing
from castplan.part.load import Reading, Source, load_part, part_from_arrays, read_each
from castplan.part.plannable import check_plannable
from castplan.part.records import Part
from castplan.part.size import known_unit
from castplan.plan_record import Plan
from castplan.planning import build_plan, build_solids, prove_solids
from castplan.units import MM_PER_UNIT
from castplan.view.drawings import drawing
from castplan.view.page import FILES
from castplan.view.scene import build_scene
from castplan.words.plan import summary_lines


@dataclass(frozen=True, eq=False, repr=False)
class Planned:
    """A plan, with the solids that were asked for.

    What the plan holds is asked of it directly: ``planned.findings``,
    ``planned.weigh.cups``, ``planned.part.check.volume_mm3``.
    """

    record: Plan
    solids: tuple[Solid, ...] = ()
    why_no_solids: str = ""  # where some were asked for

    def __getattr__(self, name):
        if name.startswith("_"):
            raise AttributeError(name)
        return getattr(self.record, name)

    def __dir__(self):
        return sorted({*super().__dir__(), *vars(self.record)})

    def __repr__(self):
        return repr(self.record)

    def _repr_html_(self):
        """Drawings and main lines of the plan, for a notebook."""
        lines = "".join(f"<li>{escape(line)}</li>" for line in self.summary())
        pictures = "".join(
            f'<div style="flex:1;min-width:12em;max-width:22em">{drawing(self.record, name)}</div>'
            for name in ("draw", "front", "pour")
        )
        return (
            f"<style>{_drawing_style()}</style><h3>{escape(self.record.part.name)}</h3>"
            f'<div style="display:flex;flex-wrap:wrap;gap:1em">{pictures}</div><ul>{lines}</ul>'
        )

    def summary(self) -> list[str]:
        """The plan's main lines, as the command prints them."""
        return summary_lines(self.record)

    def with_solids(self, wanted) -> "Planned":
        """The same plan with solids made, its halves pulled apart as solids.

        Parameters
        ----------
        wanted : iterable of {"halves", "bed", "walls", "case"}

        Returns
        -------
        Planned
            Without solids, and the reason in `why_no_solids`, where the mesh bounds none.

        Raises
        ------
        InputError
            A bed is wanted of a plan whose part lies in clay.
        """
        wanted = tuple(wanted)
        _refuse_bed(self.record.job, wanted)
        try:
            made = build_solids(self.record, wanted)
        except GeometryError as error:
            return replace(self, solids=(), why_no_solids=str(error))
        return replace(self, record=prove_solids(self.record, made), solids=made, why_no_solids="")

    def write(self, folder, *, replace: bool = False, log_from=None, progress=None) -> Path:
        """Write the plan folder: record, mesh, sheets, boards, view, and the solids made.

        Parameters
        ----------
        folder : str or path-like
        replace : bool
            Whether a plan that is there gives way; it is kept as ``NAME.previous``.
        log_from : str or path-like, optional
            Folder of the version before, whose log goes along.
        progress : callable, optional
            Called as ``progress(stage, fraction)``.

        Returns
        -------
        Path
            The folder.

        Raises
        ------
        InputError
            Something is there that is no plan, or a plan and `replace` was not given.
        ResourceError
            The disk is full or refuses. What was there is still there.
        """
        if progress is not None:
            progress("view", 0.0)
        kept = plan_folder.as_kept(self.record)
        write.write_plan(
            kept,
            folder,
            replace=replace,
            bodies=self.solids,
            scene=build_scene(kept),
            log_from=log_from,
            progress=progress,
        )
        return Path(folder)


def plan(
    source,
    *,
    others=(),
    unit: str | None = None,
    measured: str | None = None,
    thickness_mm: float | None = None,
    close_to_plane: bool = False,
    is_size_meant: bool = False,
    solids=(),
    progress=None,
    **choices,
) -> Planned:
    """Plan a two-part block mould.

    Parameters
    ----------
    source : str, path-like, mesh, or pair of arrays
        A mesh file; or an object with `vertices` and `faces`, as a trimesh mesh; or
        vertices (n, 3) and faces (m, 3).
    others : sequence of the same, optional
        Parts to lie with it in one box, two to twelve in all; the same again is a copy.
        Whatever is said of the file holds for them too.
    unit : str, optional
        Of the coordinates: ``"mm"``, ``"in"`` and so on. Required unless the file states one.
    measured : str, optional
        A length of the original that sets the scale, as ``"x=142.0"``; files only.
    thickness_mm : float, optional
        Of a part of which only the face that shows was scanned.
    close_to_plane : bool
        Give such a scan a flat back instead.
    is_size_meant : bool
        A part under 3 mm or over 2 m is meant to be that size.
    solids : iterable of {"halves", "bed", "walls", "case"}
        To make and to write with the plan.
    progress : callable, optional
        Called as ``progress(stage, fraction)``.
    **choices
        The fields of `castplan.records.Job`: ``wall_mm=14``, ``draw=(0, 0, 1)``.

    Returns
    -------
    Planned

    Raises
    ------
    InputError
        The file, the unit or a choice cannot be used.
    GeometryError
        The mesh holds no body, or only one side of one.
    ResourceError
        It does not fit in memory.

    Examples
    --------
    >>> import castplan
    >>> plan = castplan.plan("coat_hook.stl", unit="mm", wall_mm=14)  # doctest: +SKIP
    >>> plan.write("coat hook plan")  # doctest: +SKIP
    """
    solids = tuple(solids)
    if "bed" in solids:  # a print that is asked for is what the part lies in
        choices.setdefault("bed", "printed")
    job = job_of(choices)
    closing = Closing(thickness_mm) if thickness_mm is not None or close_to_plane else None
    asked = {"unit": unit, "measured": measured, "closing": closing}

    def read(each):
        if isinstance(each, (str, Path)):
            return load_part(each, Reading(**asked, is_size_meant=is_size_meant))
        return _part_of(each, unit, closing, is_size_meant)

    part, *more = read_each((source, *others), read)
    return plan_part(part, job, others=more, solids=solids, progress=progress)


def plan_part(part: Part, job: Job, *, others=(), solids=(), progress=None) -> Planned:
    """Plan a part that was read before, or several in one box.

    Parameters
    ----------
    part : Part
    job : Job
    others : sequence of Part
        To lie with it in one box; a copy is the same part again.
    solids, progress
        As for `plan`.

    Returns
    -------
    Planned

    Raises
    ------
    InputError
        As `plan`, and before it is planned where a bed is wanted of a job in clay.
    """
    solids = tuple(solids)
    _refuse_bed(job, solids)
    if others:
        box = lay_parts((part, *others), job, progress=progress)
        planned = Planned(build_plan(box.part, box.job, nest=box.nest, progress=progress))
    else:
        planned = Planned(build_plan(part, job, progress=progress))
    if not solids:
        return planned
    if progress is not None:
        progress("solids", 0.0)
    return planned.with_solids(solids)


def _refuse_bed(job, solids):
    """Refuse to make a bed that the steps of the plan do not use."""
    if "bed" in solids and job.bed != "printed":
        raise InputError(
            "bed",
            found=f"a bed to print, and a part that lies in {job.bed}",
            need="one of them",
            do="Plan with a printed bed, or leave the bed out of the solids.",
        )


def read_plan(folder) -> Planned:
    """The plan of a folder, mesh and all.

    Parameters
    ----------
    folder : str or path-like

    Returns
    -------
    Planned
        Numbers come back with the six digits that were written; solids are made anew
        by `Planned.with_solids`.

    Raises
    ------
    InputError
        The folder holds no plan, or one of another form.
    """
    return Planned(plan_folder.read_plan(folder))


def job_of(choices: dict) -> Job:
    """The job of some choices by name.

    Raises
    ------
    InputError
        There is no choice of a name.
    """
    known = Job.__dataclass_fields__
    for name in choices:
        if name not in known:
            raise InputError(
                "plan",
                found=f"a choice named {name}",
                need=f"one of {', '.join(sorted(known))}",
                do="Correct the name; help(castplan.records.Job) tells what each is.",
            )
    return Job(**choices)


def _drawing_style():
    """The rules of the view's drawings alone: the rest would dress up the whole notebook."""
    rules = (FILES / "picture.css").read_text("utf-8").splitlines()
    return "".join(rule for rule in rules if rule.startswith(".drawing"))


def _part_of(source, unit, closing, is_size_meant):
    """A part of what is no file: a mesh, or vertices and faces."""
    if hasattr(source, "vertices") and hasattr(source, "faces"):
        vertices, faces = source.vertices, source.faces
        stated = getattr(source, "units", None)
    elif isinstance(source, (tuple, list)) and len(source) == 2:
        (vertices, faces), stated = source, None
    else:
        raise InputError(
            "plan",
            found=f"a {type(source).__name__}",
            need="a path, a mesh with vertices and faces, or a pair of arrays",
            do='Write for example castplan.plan("part.stl", unit="mm").',
        )
    if unit is None and stated is None:
        raise InputError(
            "unit", found="none", need="the unit of the coordinates", do='Write unit="mm".'
        )
    chosen = known_unit(unit or stated, what=f"unit {unit or stated}")
    name = str(getattr(source, "metadata", {}).get("name") or "part")
    told = Source(unit_mm=MM_PER_UNIT[chosen], unit=chosen, closing=closing)
    part = part_from_arrays(vertices, faces, name=Path(name).stem, source=told)
    check_plannable(part, name=part.name, is_size_meant=is_size_meant)
    return part
