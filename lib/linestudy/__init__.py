"""linestudy: gauges, stability and capability of a line that measures every part.

The rooms, in the order the data go: ``study``, ``records``, ``gauges``,
``stability``, ``linelog``, ``shape``, ``tails``, ``capability``, ``verdict``, ``dossier``; beside them
``plan`` and ``simulate``. Names load on first use.
"""

from linestudy.results.lazy import attach

__version__ = "0.1.0"

__getattr__, __dir__, __all__ = attach(
    __name__,
    {
        "capability": "capability",
        "dossier": "dossier",
        "evaluate": "dossier.evaluation",
        "find_study": "study.starter",
        "gauges": "gauges",
        "linelog": "linelog",
        "open_study": "study.load",
        "plan": "plan",
        "read": "records",
        "records": "records",
        "shape": "shape",
        "show_findings": "results.showing",
        "simulate": "simulate",
        "stability": "stability",
        "start_study": "study.starter",
        "study": "study",
        "tails": "tails",
        "verdict": "verdict",
    },
)
