"""Pockets that are alike: told once, dealt with once."""

from castplan.split.records import PocketGroup

# Equal pockets sampled apart differ by less (assumed; a column more or less all
# round is added for the depth).
SAME_VOLUME = 0.15
SAME_LENGTH = 0.10
SAME_SECTION = 0.25


def group_alike(pockets, shapes, *, depth_error_mm: float) -> tuple[PocketGroup, ...]:
    """Put pockets together that are alike in kind, volume, depth and sections.

    Parameters
    ----------
    pockets : sequence of Pocket
        Largest first.
    shapes : dict of int to dict
        By number of the pocket: `is_all_round`, `is_core`, `neck_mm2`,
        `thick_mm`, as in `PocketFlex`.
    depth_error_mm : float
        How far two equal depths may come out apart.

    Returns
    -------
    tuple of PocketGroup
        Largest pocket first; every pocket is in exactly one. None is a trifle yet.
    """
    groups = []
    for pocket in pockets:
        home = next((g for g in groups if _is_alike(g[0], pocket, shapes, depth_error_mm)), None)
        if home is None:
            groups.append([pocket])
        else:
            home.append(pocket)
    return tuple(
        PocketGroup(
            numbers=tuple(pocket.number for pocket in group),
            volume_mm3=sum(pocket.volume_mm3 for pocket in group),
            depth_mm=sum(pocket.depth_mm for pocket in group) / len(group),
            is_trifle=False,
        )
        for group in groups
    )


def _is_alike(first, other, shapes, depth_error_mm):
    one, two = shapes[first.number], shapes[other.number]
    named = (first.kind, first.n_mouths, first.held_by, one["is_all_round"], one["is_core"])
    if named != (other.kind, other.n_mouths, other.held_by, two["is_all_round"], two["is_core"]):
        return False
    # A column more or less along its mouth and at its end.
    thin_mm = max(min(first.depth_mm, one["thick_mm"]), depth_error_mm)
    share = SAME_VOLUME + 0.5 * min(depth_error_mm / thin_mm, 0.5)
    return (
        _is_within(first.volume_mm3, other.volume_mm3, share)
        and _is_within(first.depth_mm, other.depth_mm, SAME_LENGTH, depth_error_mm)
        and _is_within(one["thick_mm"], two["thick_mm"], SAME_LENGTH, depth_error_mm)
        and _is_within(one["neck_mm2"], two["neck_mm2"], SAME_SECTION + 0.5 * share)
        and _is_within(one["slope"], two["slope"], 0.0, 0.3)
    )


def _is_within(one, two, share, error=0.0):
    return abs(one - two) <= share * max(one, two) + error
