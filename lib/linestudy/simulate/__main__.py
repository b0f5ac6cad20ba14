"""``python -m linestudy.simulate FOLDER`` writes the sample study."""

import sys

from linestudy.simulate.sample import write_sample

if len(sys.argv) != 2:
    sys.exit("usage: python -m linestudy.simulate FOLDER")
print(write_sample(sys.argv[1]))
