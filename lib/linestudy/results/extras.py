"""Packages that only some work needs, and the one line for whoever lacks them.

A plain install evaluates a study and writes its dossier. What else there is comes with an extra:
``notebooks`` (JupyterLab, sliders, working papers), ``log`` (the line log's sums), ``spark``.
"""

from __future__ import annotations

import importlib.util

from linestudy.results.errors import InputError


def require(extra: str, *modules: str, purpose: str) -> None:
    """Refuse in one line if packages of an extra are not installed.

    Parameters
    ----------
    extra : str
        Name of the extra, for example ``"notebooks"``.
    *modules : str
        Names by which its packages are imported.
    purpose : str
        What they are needed for; begins the message.

    Raises
    ------
    InputError
        One of them is missing; the line says what to install.

    Examples
    --------
    >>> require("log", "math", purpose="sums of a line log")
    >>> require("log", "no_such_module", purpose="sums of a line log")
    Traceback (most recent call last):
    linestudy.results.errors.InputError: sums of a line log: no_such_module is not installed; type: pip install "linestudy[log]"
    """
    missing = [name for name in modules if importlib.util.find_spec(name) is None]
    if missing:
        verb = "is" if len(missing) == 1 else "are"
        raise InputError(
            purpose,
            f"{' and '.join(missing)} {verb} not installed",
            f'type: pip install "linestudy[{extra}]"',
        )
