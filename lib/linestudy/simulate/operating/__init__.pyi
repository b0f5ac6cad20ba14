from .grid import INDICES as INDICES
from .grid import Cell as Cell
from .grid import adequate_gauge as adequate_gauge
from .grid import run_grid as run_grid
from .grid import simulate_cell as simulate_cell
from .processes import truths as truths
from .truth import Truth as Truth
