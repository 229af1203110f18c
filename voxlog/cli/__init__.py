"""What the user types: a small module for each command, and `app.py`, which gives the exit codes.

Heavy packages are imported inside the commands, so that `voxlog --help` answers at once.
"""
