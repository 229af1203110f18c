"""Work that several threads ask for at the same time, done at once.

A matrix product of twenty rows costs half as much as one of a hundred: it is reading the weights
that takes long. Searches that go on side by side, each on a thread of its own, therefore hand in
what they need next and wait, and when all have, one of them works it out for all. The rounds follow
from the searches alone, never from which thread was quicker, so that the same segments always give
the same scores, to the last bit.
"""

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextvars import ContextVar
from threading import Condition
from typing import Any, NamedTuple, TypeVar

__all__ = ["in_lockstep", "take_part"]

_Asked = TypeVar("_Asked")
_Found = TypeVar("_Found")
_Result = TypeVar("_Result")

Work = Callable[[Sequence[Any]], Sequence[Any]]
"""Works out what was asked, in the same order."""


class _Lockstep:
    """Rounds of so many members, numbered from 0, until each has left."""

    def __init__(self, members: int) -> None:
        self._changed = Condition()
        self._active = members
        self._asked: dict[int, tuple[Work, Any]] = {}
        self._found: dict[int, Any] = {}
        self._fault: Exception | None = None

    def ask(self, member: int, work: Work, asked: Any) -> Any:
        with self._changed:
            self._asked[member] = work, asked
            self._round()
            self._changed.wait_for(lambda: member in self._found or self._fault)
            if self._fault:
                raise self._fault
            return self._found.pop(member)

    def leave(self) -> None:
        with self._changed:
            self._active -= 1
            self._round()

    def _round(self) -> None:
        """Work out what all asked, once all have; different kinds of work one after the other."""
        if len(self._asked) < self._active or not self._asked:
            return
        asked, self._asked = self._asked, {}
        try:
            for work in dict.fromkeys(work for work, _ in asked.values()):
                members = sorted(member for member, (its, _) in asked.items() if its == work)
                found = work([asked[member][1] for member in members])
                self._found.update(zip(members, found, strict=True))
        except Exception as fault:  # noqa: BLE001 - raised again by every member
            self._fault = fault
        self._changed.notify_all()


class _Member(NamedTuple):
    lockstep: _Lockstep
    number: int


_member: ContextVar[_Member | None] = ContextVar("member", default=None)


def take_part(work: Callable[[Sequence[_Asked]], Sequence[_Found]], asked: _Asked) -> _Found:
    """What ``work`` makes of what is asked, together with what others ask on `in_lockstep`."""
    member = _member.get()
    if member is None:
        return work([asked])[0]
    found: _Found = member.lockstep.ask(member.number, work, asked)
    return found


def in_lockstep(calls: Sequence[Callable[[], _Result]]) -> list[_Result]:
    """The results of calls made side by side, that take part in the same rounds."""
    lockstep = _Lockstep(len(calls))

    def call(number: int) -> _Result:
        token = _member.set(_Member(lockstep, number))
        try:
            return calls[number]()
        finally:
            _member.reset(token)
            lockstep.leave()

    with ThreadPoolExecutor(len(calls)) as pool:
        return list(pool.map(call, range(len(calls))))
