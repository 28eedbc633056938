"""The forms of the page's database: each is made from the one before, none is ever lost.

A change to the tables is a new step at the end of `STEPS`. A step that stands is never
changed: databases made by it are out there, and `tests/web/test_forms.py` opens one of
each. Foreign keys are on while a step runs: what drops a table drops what hangs on it.
The number of steps done is the database's ``user_version``.
"""

import sqlite3

STEPS = (
    (
        """CREATE TABLE jobs (
            key TEXT PRIMARY KEY, name TEXT NOT NULL, mesh TEXT NOT NULL, suffix TEXT NOT NULL,
            made REAL NOT NULL, changed REAL NOT NULL, at INTEGER NOT NULL,
            is_archived INTEGER NOT NULL DEFAULT 0
        )""",
        """CREATE TABLE versions (
            job TEXT NOT NULL REFERENCES jobs(key) ON DELETE CASCADE, number INTEGER NOT NULL,
            choices TEXT NOT NULL, what TEXT NOT NULL, PRIMARY KEY (job, number)
        )""",
        """CREATE TABLE marks (
            job TEXT NOT NULL REFERENCES jobs(key) ON DELETE CASCADE, name TEXT NOT NULL,
            value TEXT NOT NULL, PRIMARY KEY (job, name)
        )""",
    ),
    (
        "ALTER TABLE jobs ADD COLUMN deleted REAL",
        """CREATE TABLE answers (
            job TEXT PRIMARY KEY REFERENCES jobs(key) ON DELETE CASCADE, at INTEGER NOT NULL,
            told TEXT NOT NULL
        )""",
    ),
)


def form_of(base: sqlite3.Connection) -> int:
    """Which form a database has; 0 is an empty one."""
    (form,) = base.execute("PRAGMA user_version").fetchone()
    return form


def bring_up(base: sqlite3.Connection) -> None:
    """Do the steps that a database has not seen; the caller's transaction holds them together."""
    for step in STEPS[form_of(base) :]:
        for order in step:
            base.execute(order)
    base.execute(f"PRAGMA user_version={len(STEPS)}")
