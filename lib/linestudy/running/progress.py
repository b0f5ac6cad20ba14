"""How far long work has come, where somebody in a notebook waits for it."""

from __future__ import annotations

import importlib.util
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager


@contextmanager
def watched(steps: int, what: str) -> Iterator[Callable[[str], None]]:
    """Show a bar in a notebook that names each step as it begins, and remove it at the end.

    Parameters
    ----------
    steps : int
        How many there are.
    what : str
        What the work is, in a word or two.

    Yields
    ------
    callable
        To be called with the name of each step. Outside a notebook it does nothing, so that scripts and
        tests stay quiet; the command line tells its stages itself.

    Examples
    --------
    >>> with watched(2, "packages") as tell:
    ...     tell("gauges")
    """
    if not in_a_notebook():
        yield lambda step: None
        return
    if importlib.util.find_spec("ipywidgets") is not None:
        from tqdm.auto import tqdm
    else:
        # A plain install: a bar of text, and no warning about it.
        from tqdm.std import tqdm

    with tqdm(
        total=steps, desc=what, leave=False, bar_format="{desc}: {n_fmt} of {total_fmt} {bar}"
    ) as bar:
        begun = 0

        def tell(step: str) -> None:
            nonlocal begun
            bar.set_description_str(f"{what}, {step}")
            bar.update(1 if begun else 0)
            begun += 1

        yield tell


def in_a_notebook() -> bool:
    """Check whether this process is the kernel of a notebook."""
    ipython = sys.modules.get("IPython")
    shell = ipython.get_ipython() if ipython is not None else None
    return getattr(shell, "kernel", None) is not None
