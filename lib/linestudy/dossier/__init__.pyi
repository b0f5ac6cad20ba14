from .audit.recomputation import recompute as recompute
from .audit.report import RecomputeReport as RecomputeReport
from .audit.tampering import make_tampered_copy as make_tampered_copy
from .bag.writing import write as write
from .evaluation import Evaluation as Evaluation
from .evaluation import evaluate as evaluate
