from .admissible import TailIndex as TailIndex
from .admissible import Tails as Tails
from .admissible import tails as tails
from .candidate import Candidate as Candidate
