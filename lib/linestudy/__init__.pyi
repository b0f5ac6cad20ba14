__version__: str

from . import capability as capability
from . import dossier as dossier
from . import gauges as gauges
from . import intake as intake
from . import linelog as linelog
from . import plan as plan
from . import records as records
from . import results as results
from . import shape as shape
from . import simulate as simulate
from . import stability as stability
from . import study as study
from . import study_form as study_form
from . import tails as tails
from . import verdict as verdict
from .dossier.evaluation import evaluate as evaluate
from .records import read as read
from .results.findings import show_findings as show_findings
from .study.load import open_study as open_study
from .study.starter import find_study as find_study
from .study.starter import start_study as start_study
