from .build import LineLog as LineLog
from .build import build_log as build_log
from .evaluation import evaluate_log as evaluate_log
from .summary import LogSummary as LogSummary
from .sums import summarise_log as summarise_log
