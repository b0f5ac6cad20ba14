from .calculations import check as check
from .decisions import decide as decide
