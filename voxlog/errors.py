"""What can go wrong because of what the user gave us.

One exception, because a caller does one thing with it: print its line and exit 2. A bug is any
other exception.
"""

__all__ = ["InputError"]


class InputError(Exception):
    """Bad input that the user can mend: a file, a sheet, an option.

    The text is one line that says where, what, and what to do, for instance
    ``run.wav: no audio in it (0 samples); record again or name another file``.
    """
