from .load import Study as Study
from .load import open_study as open_study
from .starter import find_study as find_study
from .starter import start_study as start_study
