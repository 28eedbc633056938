"""What makes a class a record; without numpy, so that help answers at once."""

from dataclasses import dataclass

record = dataclass(frozen=True, kw_only=True, eq=False)
