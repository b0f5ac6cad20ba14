"""linestudy: gauges, stability and capability of a line that measures every part.

The packages, in the order the data go: ``study``, ``records``, ``gauges``,
``stability``, ``linelog``, ``shape``, ``tails``, ``capability``, ``verdict``, ``dossier``; beside them
``plan``, ``simulate`` and ``study_form``. Names load on first use.
"""

from linestudy.running.lazy import attach_stub

__version__ = "0.2.0"

__getattr__, __dir__, __all__ = attach_stub(__name__, __file__)
