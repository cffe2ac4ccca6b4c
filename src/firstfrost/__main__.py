"""`python -m firstfrost`."""

import sys

from firstfrost.cli.main import run

sys.exit(run())
