"""The pictures that a plan has, in the order of the work."""

from castplan.step_pictures import (
    clay_and_pieces,
    cut_open,
    first_half,
    opening,
    pouring,
    scales,
    second_half,
)
from castplan.step_pictures.bench import Act, Bench

# Every picture that a plan may have.
NAMES = (
    "overview",
    "pieces",
    "lie",
    "bed",
    "stop",
    "plug",
    "box",
    "keys",
    "rods",
    "weigh_first",
    "pour_first",
    "turn",
    "coats",
    "sticks",
    "weigh_second",
    "pour_second",
    "cut",
    "open",
    "close",
    "mix",
    "cast",
    "out",
)
_MAKERS = {
    "overview": opening.overview,
    "pieces": clay_and_pieces.pieces,
    "lie": first_half.lie,
    "bed": first_half.bed,
    "stop": clay_and_pieces.stop,
    "plug": clay_and_pieces.plug,
    "box": first_half.box,
    "keys": first_half.keys,
    "rods": first_half.rods,
    "weigh_first": scales.weigh_first,
    "pour_first": first_half.first_pour,
    "turn": second_half.turn,
    "coats": second_half.coats,
    "sticks": second_half.sticks,
    "pour_second": second_half.second_pour,
    "weigh_second": scales.weigh_second,
    "open": opening.open_mould,
    "close": pouring.stand,
    "mix": scales.mix,
    "cast": pouring.stand_and_pour,
    "out": opening.casting_out,
}
# Of a block that is cut open instead.
_OF_A_CUT = {
    "overview": cut_open.overview,
    "lie": cut_open.lie,
    "box": cut_open.box,
    "pour_first": cut_open.first_pour,
    "cut": cut_open.cut,
    "open": cut_open.open_block,
}
_OF_TWO_POURS = ("keys", "rods", "turn", "coats", "sticks", "weigh_second", "pour_second")


def names_of(bench: Bench) -> tuple[str, ...]:
    """Names of the pictures that a plan has.

    Parameters
    ----------
    bench : Bench
    """
    has = {name: True for name in NAMES}
    has["bed"] = bool(bench.bed) and not bench.block.is_open
    for name in _OF_TWO_POURS:
        has[name] = len(bench.order) > 1
    plan = bench.kit.plan
    # A printed bed brings its keys.
    has["keys"] &= bool(len(plan.mould.keys.places_mm)) and bench.bed != "print"
    has["rods"] &= bool(bench.routes("first"))
    has["sticks"] &= bool(bench.routes("second"))
    has["pieces"] = bool(plan.split.pieces)
    has["stop"] = bool(bench.block.bedding.clay_holes)
    has["plug"] = any(pocket.kind == "bridge" for pocket in plan.split.undercuts.pockets)
    has["cut"] = plan.split.is_cut
    if plan.split.is_cut:
        has["bed"] = has["stop"] = has["plug"] = False
    return tuple(name for name in NAMES if has[name])


def make_act(bench: Bench, name: str) -> Act:
    """One picture to be drawn.

    Parameters
    ----------
    bench : Bench
    name : str
        One of `names_of`.
    """
    if bench.kit.plan.split.is_cut and name in _OF_A_CUT:
        return _OF_A_CUT[name](bench)
    return _MAKERS[name](bench)
