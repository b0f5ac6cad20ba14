from .cells import INDICES as INDICES
from .cells import Cell as Cell
from .cells import adequate_gauge as adequate_gauge
from .cells import run_grid as run_grid
from .cells import simulate_cell as simulate_cell
from .processes import truths as truths
from .truth import Truth as Truth
