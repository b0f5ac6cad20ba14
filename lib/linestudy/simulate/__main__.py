"""``python -m linestudy.simulate FOLDER`` writes the sample study, ``… twin_contact FOLDER`` the two-out one."""

import sys

from linestudy.simulate.samples.sample import write_sample
from linestudy.simulate.samples.twin_contact import write_twin_contact

if len(sys.argv) == 3 and sys.argv[1] == "twin_contact":
    print(write_twin_contact(sys.argv[2]))
elif len(sys.argv) == 2:
    print(write_sample(sys.argv[1]))
else:
    sys.exit("usage: python -m linestudy.simulate [twin_contact] FOLDER")
