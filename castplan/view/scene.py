"""From the plan to surfaces that can be turned in the hand."""

from dataclasses import replace

from castplan.columns.field import sample
from castplan.columns.gaps import find_gaps
from castplan.errors import GeometryError
from castplan.geometry.shutoff import parting_over
from castplan.geometry.standin import collapse
from castplan.memory import remembered
from castplan.mould.fill import flood_cavity
from castplan.plan_record import Plan
from castplan.planning import build_solids
from castplan.split.freed import Parted, pull_after
from castplan.split.undercuts import listed_pockets, pull_halves
from castplan.view.records import Scene
from castplan.view.resin import roll_film
from castplan.view.surface_maps import map_surface, shown_part

# Of each half, when a heavy part has to be cut whole.
HALF_FACETS = 40_000
# Of a heavy part, where its halves are cut to be looked at.
CUT_FACETS = 25_000


class _Along:
    """A plan that goes along with what is read of it, which alone tells calls apart."""

    def __init__(self, plan: Plan):
        self.plan = plan

    def __eq__(self, other):
        return isinstance(other, _Along)

    __hash__ = None


def build_scene(plan: Plan) -> Scene:
    """Surfaces of part and halves for a view in three dimensions.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    Scene
        The same plan gives the same scene. Where no solid can be cut out of
        the block it has no halves, and says why.
    """
    split, air, along = plan.split, plan.air, _Along(plan)
    way = (plan.sampling.pitch_mm, split.draw.frame, split.line, split.pieces)
    poured = (air.attitude, air.openings, air.feed)
    surface, film = _map_part(plan.part, (*way, split.undercuts), poured, along)
    kind = (split.is_open, split.is_cut, plan.mould.slit)
    tools = (split.box, plan.mould.keys, plan.mould.block.ports, plan.mould.vents.routes)
    halves, why = _cut_halves(plan.part, (*way, *kind), tools, along)
    return Scene(surface=surface, film=film, halves=halves, why_no_halves=why)


@remembered
def _map_part(part, way, poured, along):
    """The part's surface with its maps, and the film of the pour."""
    plan = along.plan
    frame = plan.split.draw.frame
    field = sample(
        part.vertices_mm,
        part.faces,
        part.cap_faces,
        frame.rotation,
        pitch_mm=plan.sampling.pitch_mm,
    )
    gaps = find_gaps(field)
    built_mm = parting_over(field, plan.split.line, gaps)
    held = pull_halves(field, gaps, built_mm)
    parted = Parted(field=field, gaps=gaps, built_mm=built_mm, held=held)
    held = pull_after(part, frame, parted, plan.split.pieces)
    filling = flood_cavity(part, plan.air.attitude.frame, plan.air.openings, plan.air.feed)
    surface = map_surface(
        part,
        frame,
        built_mm,
        field,
        held,
        listed_pockets(field, held.gaps, plan.split.undercuts),
        filling,
        plan.air.openings,
        _shown(part),
    )
    return surface, roll_film(filling, plan.air.attitude.frame, frame)


@remembered
def _shown(part):
    return shown_part(part)


@remembered
def _to_cut(part):
    """The part light enough for its halves to be looked at."""
    vertices_mm, faces, is_thinned = _shown(part)
    if not is_thinned:
        return part
    vertices_mm, faces = collapse(vertices_mm, faces, n_triangles=CUT_FACETS)
    return replace(part, vertices_mm=vertices_mm, faces=faces, cap_faces=faces[:0])


@remembered
def _cut_halves(part, way, tools, along):
    """The halves, or the reason why there are none.

    Cut round the part as shown they fit it facet by facet; of a heavy part that would
    be more than a picture shows. A surface that was thinned may have lost its sense of
    inside; then the whole part is cut.
    """
    plan = along.plan
    why, wanted = "", {"lips" if plan.split.is_cut else "halves"}
    for one in dict.fromkeys((_to_cut(part), part)):
        try:
            halves = build_solids(replace(plan, part=one), wanted, is_fine=False)
        except GeometryError as error:
            why = str(error)
            continue
        return tuple(_thinned(half) for half in halves), ""
    return (), why


def _thinned(half):
    vertices_mm, faces = collapse(half.vertices_mm, half.faces, n_triangles=HALF_FACETS)
    return replace(half, vertices_mm=vertices_mm, faces=faces)
