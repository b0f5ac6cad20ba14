from .calculations import check as check
from .decision_questions import decide as decide
