"""What to make for either answer to which side will be seen, side by side."""

from castplan.paper import paper
from castplan.paper.paper import Sheet
from castplan.paper.sheet_marks import card_head
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words.kinds import answer_cards

_GAP_MM = 5.0
_ABOVE_MM, _BELOW_MM = 2.0, 1.5


def draw_answers(sheet: Sheet, plan: Plan, y: float) -> float:
    """Put the two answers across a sheet, where there are two; returns the y below.

    Parameters
    ----------
    sheet : Sheet
    plan : Plan
    y : float
        Upper end [mm].
    """
    cards = answer_cards(plan)
    if not cards:
        return y
    y = card_head(sheet, y - _ABOVE_MM, say("kinds.answers_head"))
    width_mm = (sheet.room_mm - _GAP_MM) / 2
    bottoms = []
    for number, card in enumerate(cards):
        x, at = sheet.left + number * (width_mm + _GAP_MM), y
        told = [(card["title"], False), (card["kind"], True), (" ".join(card["lines"]), False)]
        for text, is_bold in told:
            for line in paper.wrap(text, room_mm=width_mm, is_bold=is_bold):
                at -= paper.leading_mm()
                sheet.text(x, at + 1.1, line, is_bold=is_bold)
        bottoms.append(at)
    return min(bottoms) - _BELOW_MM
