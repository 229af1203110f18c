"""Work that several searches ask for at the same time, done at once.

A matrix product of twenty rows costs half as much as one of a hundred: it is reading the weights
that takes long. Searches that go on side by side therefore stop where they need one, and once all
have, it is worked out for all. They take turns on one thread, as greenlets: threads of their own
would never work at the same time, and each turn would wake all of them. The rounds follow from the
searches alone, so that the same segments always give the same scores, to the last bit.
"""

from collections.abc import Callable, Sequence
from contextvars import ContextVar
from typing import Any, TypeVar

from greenlet import getcurrent, greenlet

__all__ = ["in_lockstep", "take_part"]

_Asked = TypeVar("_Asked")
_Found = TypeVar("_Found")
_Result = TypeVar("_Result")

Work = Callable[[Sequence[Any]], Sequence[Any]]
"""Works out what was asked, in the same order."""


class _Member:
    """A call that stops where it asks for work.

    asked: what it waits for; None while it goes on and when it is over. result, fault: what came of
    it.
    """

    def __init__(self, call: Callable[[], Any]) -> None:
        self.asked: tuple[Work, Any] | None = None
        self.result: Any = None
        self.fault: Exception | None = None
        self._call = call
        self._caller: Any = getcurrent()
        self._turn: Any = greenlet(self._run)

    def go_on(self, *found: Any) -> None:
        """Begin, or go on with what was found, up to the next question or the end."""
        self._turn.switch(*found)

    def fail(self, fault: Exception) -> None:
        """Go on with a fault in place of what was asked."""
        self._turn.throw(fault)

    def ask(self, work: Work, asked: Any) -> Any:
        self.asked = work, asked
        try:
            return self._caller.switch()
        finally:
            self.asked = None

    def _run(self) -> None:
        _member.set(self)  # a greenlet has a context of its own
        try:
            self.result = self._call()
        except Exception as fault:  # noqa: BLE001 - raised again by `in_lockstep`
            self.fault = fault


_member: ContextVar[_Member | None] = ContextVar("member", default=None)


def take_part(work: Callable[[Sequence[_Asked]], Sequence[_Found]], asked: _Asked) -> _Found:
    """What ``work`` makes of what is asked, together with what others ask on `in_lockstep`."""
    member = _member.get()
    if member is None:
        return work([asked])[0]
    found: _Found = member.ask(work, asked)
    return found


def in_lockstep(calls: Sequence[Callable[[], _Result]]) -> list[_Result]:
    """The results of calls made side by side, that take part in the same rounds."""
    members = [_Member(call) for call in calls]
    for member in members:
        member.go_on()
    while waiting := [member for member in members if member.asked]:
        _do_round(waiting)
    for member in members:
        if member.fault:
            raise member.fault
    return [member.result for member in members]


def _do_round(waiting: Sequence[_Member]) -> None:
    """Work out what all asked, different kinds of work one after the other; all go on with it."""
    alike: dict[Work, list[_Member]] = {}
    for member in waiting:
        if member.asked:
            alike.setdefault(member.asked[0], []).append(member)
    found: dict[_Member, Any] = {}
    try:
        for work, members in alike.items():
            asked = [member.asked[1] for member in members if member.asked]
            found.update(zip(members, work(asked), strict=True))
    except Exception as fault:  # noqa: BLE001 - every member ends with it
        for member in waiting:
            member.fail(fault)
        return
    for member in waiting:
        member.go_on(found[member])
