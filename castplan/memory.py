"""Stages that remember: after a change, only what depends on it is done again.

A stage is a function of records. While a `Memory` is at work, a stage marked
`remembered` keeps its last answers with what they came from, and gives an
answer again where it is asked the same. The job is compared field by field, by
the fields that the stage read when it gave that answer: nobody has to list
which choice matters to which stage, so no list can be out of date.
"""

import contextlib
import contextvars
import dataclasses
import functools

import numpy as np

from castplan.job import Job

KEPT = 6  # answers a stage: enough to go back and forth between a few choices
# Further answers of a stage are kept as long as all that they are made of and hold comes
# to no more than this: kinds of mould ask for the same parting again after many others.
ROOM_BYTES = 32e6
FEW = 64
MOST_TIMES = 5  # as many answers, however small: each is compared with what is asked
LARGE = 4096  # numbers; longer arrays are the same only where they are one object

_at_work = contextvars.ContextVar("memory", default=None)


class Memory:
    """Answers of stages, newest first.

    Parameters
    ----------
    kept : int
        Answers a stage, however large: each may hold a field of columns. Small ones
        are kept up to `MOST_TIMES` as many.
    """

    def __init__(self, kept: int = KEPT):
        self._kept = kept
        self._answers = {}
        self.n_asked = 0
        self.n_worked = 0

    @contextlib.contextmanager
    def at_work(self):
        """Let the remembered stages called inside use this memory."""
        token = _at_work.set(self)
        try:
            yield self
        finally:
            _at_work.reset(token)

    def ask(self, stage, arguments):
        """The stage's answer to `arguments`, a pair of a tuple and a dict."""
        self.n_asked += 1
        answers = self._answers.setdefault(stage, [])
        for k, (known, read, answer) in enumerate(answers):
            if _is_same_call(known, arguments, read):
                answers.insert(0, answers.pop(k))
                return answer
        read = {}
        positional, named = arguments
        answer = stage(
            *(_watch(value, read) for value in positional),
            **{name: _watch(value, read) for name, value in named.items()},
        )
        # Only now: a stage that was cancelled half way has no answer.
        self.n_worked += 1
        answers.insert(0, (_without_progress(arguments), read, answer))
        del answers[MOST_TIMES * self._kept :]
        while len(answers) > self._kept and _n_bytes(answers, {}) > ROOM_BYTES:
            answers.pop()
        return answer


def at_hand(kept: int) -> contextlib.AbstractContextManager:
    """The memory that is at work, or one for the time of a ``with``."""
    memory = _at_work.get()
    return contextlib.nullcontext(memory) if memory is not None else Memory(kept).at_work()


def remembered(stage):
    """Mark a stage as a pure function of its arguments and of the job's fields.

    Without a `Memory` at work nothing changes. An argument named ``progress``
    is not compared.
    """

    @functools.wraps(stage)
    def ask(*positional, **named):
        memory = _at_work.get()
        if memory is None:
            return stage(*positional, **named)
        return memory.ask(stage, (positional, named))

    return ask


class _Watched:
    """A job that notes which of its fields are read."""

    __slots__ = ("_job", "_read")

    def __init__(self, job, read):
        self._job = job
        self._read = read

    def __getattr__(self, name):
        value = getattr(self._job, name)
        self._read[name] = value
        return value


def _watch(value, read):
    if isinstance(value, (Job, _Watched)):
        return _Watched(value, read)
    if isinstance(value, functools.partial):
        return functools.partial(
            value.func,
            *(_watch(part, read) for part in value.args),
            **{name: _watch(part, read) for name, part in value.keywords.items()},
        )
    return value


def _n_bytes(value, seen):
    """Bytes of the arrays that a value is made of, each counted once."""
    if id(value) in seen:
        return 0
    seen[id(value)] = value
    if isinstance(value, np.ndarray):
        return value.nbytes
    if isinstance(value, dict):
        value = [*value.values()]
    if isinstance(value, (list, tuple)):
        # Long lists are of small things, and take longer to look through than to make.
        return 0 if len(value) > FEW else sum(_n_bytes(each, seen) for each in value)
    if isinstance(value, functools.partial):
        return _n_bytes((value.args, value.keywords), seen)
    if dataclasses.is_dataclass(value):
        return sum(_n_bytes(getattr(value, f.name), seen) for f in dataclasses.fields(value))
    return 0


def _without_progress(arguments):
    positional, named = arguments
    return positional, {name: value for name, value in named.items() if name != "progress"}


def _is_same_call(known, arguments, read):
    positional, named = _without_progress(arguments)
    return _is_same([*known[0]], [*positional], read) and _is_same(known[1], named, read)


def _is_same(one, other, read):
    """Whether two values are the same to a stage that read these fields of a job."""
    if isinstance(one, (Job, _Watched)):
        return isinstance(other, (Job, _Watched)) and all(
            _is_same(value, getattr(other, name), read) for name, value in read.items()
        )
    if one is other:
        return True
    if type(one) is not type(other):
        return False
    if isinstance(one, np.ndarray):
        return max(one.size, other.size) <= LARGE and np.array_equal(one, other)
    if isinstance(one, (list, tuple)):
        pairs = zip(one, other, strict=False)
        return len(one) == len(other) and all(_is_same(*pair, read) for pair in pairs)
    if isinstance(one, dict):
        return one.keys() == other.keys() and all(_is_same(one[k], other[k], read) for k in one)
    if isinstance(one, functools.partial):
        parts = [(each.func, each.args, each.keywords) for each in (one, other)]
        return _is_same(*parts, read)
    if dataclasses.is_dataclass(one):
        names = [field.name for field in dataclasses.fields(one)]
        return all(_is_same(getattr(one, n), getattr(other, n), read) for n in names)
    return bool(one == other)
