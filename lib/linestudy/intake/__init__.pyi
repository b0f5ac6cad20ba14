from .draft import Draft as Draft
from .matching import draft_study as draft_study
from .missing import missing_for_submission as missing_for_submission
from .relations import unit_doubts as unit_doubts
