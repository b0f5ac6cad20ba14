from .recomputation import recompute as recompute
from .report import RecomputeReport as RecomputeReport
from .tampering import make_tampered_copy as make_tampered_copy
