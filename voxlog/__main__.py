"""`python -m voxlog`, where the `voxlog` script is not on the path."""

import sys

from voxlog.cli.app import main

sys.exit(main())
