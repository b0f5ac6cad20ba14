"""``python -m linestudy`` is the command line."""

import sys

from linestudy.cli import main

sys.exit(main())
