"""The review page as a server on this machine, until it is asked to end."""

import logging
import signal
import socket
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from types import FrameType

import uvicorn

from voxlog.review.decision import check_code
from voxlog.review_page.access import HOST, Guard, Keys
from voxlog.review_page.app import ReviewPage, application
from voxlog.review_page.ledger import Ledger
from voxlog.review_page.run import read_run
from voxlog.review_page.sound import RunSound

__all__ = ["serve_review"]

_GRACE_S = 1


def serve_review(folder: Path, reviewer: str, announce: Callable[[str], None]) -> None:
    """Serve until SIGINT or SIGTERM. InputError before that for a folder that cannot be reviewed.

    announce: gets the address to open, once, when the page is there.
    """
    check_code(reviewer)
    run = read_run(folder)
    ledger = Ledger(run, reviewer)
    ledger.state()
    with ExitStack() as stack:
        listener = stack.enter_context(socket.create_server((HOST, 0)))
        sound = None
        if run.channels:
            paths = [channel.path for channel in run.channels]
            sound = stack.enter_context(RunSound(paths, run.samples))
        keys = Keys()
        app = application(ReviewPage(run, reviewer, ledger, sound), keys.place)
        guard = Guard(app, keys, listener.getsockname()[1])
        config = uvicorn.Config(
            guard,
            http="h11",
            ws="none",
            lifespan="off",
            log_level="error",
            access_log=False,
            server_header=False,
            proxy_headers=False,
            timeout_graceful_shutdown=_GRACE_S,
        )
        announce(guard.address)
        try:
            _Server(config).run(sockets=[listener])
        finally:
            logging.disable(logging.NOTSET)


class _Server(uvicorn.Server):
    """Ends at the first request to end without a word, and at once at the second."""

    @contextmanager
    def capture_signals(self) -> Iterator[None]:
        numbers = (signal.SIGINT, signal.SIGTERM)
        before = [signal.signal(number, self._end) for number in numbers]
        try:
            yield
        finally:
            for number, handler in zip(numbers, before, strict=True):
                signal.signal(number, handler)

    def _end(self, _: int, __: FrameType | None) -> None:
        self.force_exit = self.should_exit
        self.should_exit = True
        # A browser that still has sound on its way is cut off, which is no error.
        logging.disable(logging.CRITICAL)
