"""Pictures of the steps, in the manner of an assembly manual that needs no words.

for name in step_pictures.list_names(plan):
    picture = step_pictures.draw_picture(plan, name)
"""

from castplan.step_pictures.acts import NAMES
from castplan.step_pictures.album import (
    StepPicture,
    down_side,
    draw_picture,
    list_names,
    name_steps,
)

__all__ = ["NAMES", "StepPicture", "down_side", "draw_picture", "list_names", "name_steps"]
