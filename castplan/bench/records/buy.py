"""What to buy, and what the copies cost."""

from castplan.job import Pack
from castplan.record import Sourced, record


@record
class BuyLine:
    """One material: needed, bought and left, part by part.

    Without packs that cover the need, `packs` is empty, nothing is bought and
    `cost` is None.
    """

    card: str
    need_a_g: float
    need_b_g: float
    packs: tuple[tuple[Pack, int], ...]
    left_a_g: float
    left_b_g: float
    cost: float | None
    shelf_life_months: float | None  # of its packs, as the shop says
    closed_months: Sourced | None  # how long its chemistry usually keeps
    opened_months: Sourced | None

    @classmethod
    def uncovered(cls, card: str, **known) -> "BuyLine":
        """A need that no packs cover."""
        return cls(
            card=card,
            packs=(),
            left_a_g=0.0,
            left_b_g=0.0,
            cost=None,
            **{"shelf_life_months": None, "closed_months": None, "opened_months": None, **known},
        )


@record
class BuyResult:
    """Materials for all moulds and copies, and the quote.

    Money is in the shop's currency; None where a price or a rate is missing.
    `mould_cost` is one mould, `copy_cost` one copy with its share of the moulds.
    """

    copies: int
    n_moulds: int
    mould_life_casts: Sourced
    library_years: Sourced | None  # how long a mould keeps on the shelf
    trial_shots: int  # castings before the first that counts; their resin is in `lines`
    patch_g: Sourced  # silicone for the test patch, in `lines`
    lines: tuple[BuyLine, ...]
    currency: str
    material_cost: float | None
    once_hands_on_min: float  # what is done once a job
    mould_hands_on_min: float  # one mould
    copy_hands_on_min: float  # one copy
    labour_cost: float | None
    mould_cost: float | None
    copy_cost: float | None
    total_cost: float | None

    @property
    def hands_on_min(self) -> float:
        """All moulds and castings."""
        each = self.n_moulds * self.mould_hands_on_min + self.copies * self.copy_hands_on_min
        return self.once_hands_on_min + each

    @property
    def first_doubtful_cast(self) -> int:
        """The first cast beyond the least life that sources give."""
        life = self.mould_life_casts
        return round(life.value if life.low is None else life.low) + 1

    def life_after(self, n_casts: int) -> str:
        """How a mould stands after so many casts: ``lasts``, ``ends-soon`` or ``over``.

        It ends soon when the next cast is one of the doubtful, or the last planned.
        """
        life = self.mould_life_casts.value
        if n_casts >= life:
            return "over"
        is_late = n_casts + 1 >= min(self.first_doubtful_cast, life)
        return "ends-soon" if is_late else "lasts"
