"""The pictures that a plan has, in the order of the work."""

from castplan.step_pictures import first_half, opening, pouring, second_half
from castplan.step_pictures.bench import Act, Bench

# Every picture that a plan may have.
NAMES = (
    "overview",
    "lie",
    "bed",
    "box",
    "keys",
    "pour_first",
    "turn",
    "coats",
    "sticks",
    "pour_second",
    "open",
    "cast",
    "out",
)
_MAKERS = {
    "overview": opening.overview,
    "lie": first_half.lie,
    "bed": first_half.bed,
    "box": first_half.box,
    "keys": first_half.keys,
    "pour_first": first_half.first_pour,
    "turn": second_half.turn,
    "coats": second_half.coats,
    "sticks": second_half.sticks,
    "pour_second": second_half.second_pour,
    "open": opening.open_mould,
    "cast": pouring.stand_and_pour,
    "out": opening.casting_out,
}
_OF_TWO_POURS = ("keys", "turn", "coats", "sticks", "pour_second")


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
    keys = bench.kit.plan.mould.keys
    has["keys"] &= bool(len(keys.places_mm) or bench.routes("first"))
    has["sticks"] &= bool(bench.routes("second"))
    return tuple(name for name in NAMES if has[name])


def make_act(bench: Bench, name: str) -> Act:
    """One picture to be drawn.

    Parameters
    ----------
    bench : Bench
    name : str
        One of `names_of`.
    """
    return _MAKERS[name](bench)
