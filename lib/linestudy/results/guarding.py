"""What a method's numerical failure becomes: one clause for the reader instead of the end of the study.

Readings may be such that arithmetic breaks where no method foresaw it: a matrix without an inverse, a
number beyond what a double holds, values that a numerical library refuses. One method's failure is no
reason to keep back what all others found. A mistake of the programmer (a name that does not exist, a
wrong type, a key that is missing) is no numerical failure and goes on to whoever called.

Who works on the kit wants to see both: where the environment variable ``LINESTUDY_STRICT`` is set, and
not to ``0``, nothing is turned into words and every error comes up as it was raised.
"""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from linestudy.results.errors import CannotJudge, LinestudyError

if TYPE_CHECKING:
    from linestudy.results.finding import Finding

#: Kinds of error that readings can bring about. NumPy's LinAlgError is a ValueError; IndexError is
#: what taking the first or last of nothing raises; a warning is raised where somebody made errors of them.
NUMERICAL: tuple[type[Exception], ...] = (
    ArithmeticError,
    ValueError,
    IndexError,
    MemoryError,
    Warning,
)

#: Libraries that compute have errors of their own, which only they raise.
_LIBRARIES = ("numpy", "scipy", "statsmodels", "pandas", "pingouin", "ruptures")

_SWITCH = "LINESTUDY_STRICT"


class NotComputed(CannotJudge):
    """A method that failed numerically, with the reason in one clause.

    Parameters
    ----------
    reason : str
        As :class:`~linestudy.results.CannotJudge`.

    Examples
    --------
    >>> NotComputed.because(ZeroDivisionError()).reason
    'It could not be computed: something was divided by zero.'
    """

    @classmethod
    def because(cls, error: BaseException) -> NotComputed:
        """Describe the failure in words that are the same on every machine.

        Parameters
        ----------
        error : BaseException

        Returns
        -------
        NotComputed
        """
        return cls(f"It could not be computed: {clause(error)}.")


def strict() -> bool:
    """Check whether errors are to be raised unchanged."""
    return os.environ.get(_SWITCH, "0") not in ("", "0")


def clause(error: BaseException) -> str:
    """Say in one clause why something could not be computed.

    What a library says may hold numbers, which differ in their last digits between machines; such a
    message is left out, so that results recomputed elsewhere say the same.

    Parameters
    ----------
    error : BaseException
        What a method raised.

    Returns
    -------
    str

    Examples
    --------
    >>> clause(OverflowError("(34, 'Numerical result out of range')"))
    'a number grew beyond what the machine can hold'
    """
    for kind, words in _WORDS.items():
        if any(base.__name__ == kind for base in type(error).__mro__):
            return words
    said = " ".join(str(error).split()).rstrip(".")
    if not said or len(said) > 160 or any(c.isdigit() for c in said) or not said.isprintable():
        return "the numbers are outside what its arithmetic allows"
    return f"its arithmetic broke off ({said})"


_WORDS = {
    "LinAlgError": "a matrix of the calculation has no inverse",
    "OverflowError": "a number grew beyond what the machine can hold",
    "ZeroDivisionError": "something was divided by zero",
    "FloatingPointError": "a number grew beyond what the machine can hold",
    "MemoryError": "there was not enough memory",
    "IndexError": "too few values are left for it",
}


def failed(error: Exception) -> NotComputed | None:
    """Recognise a numerical failure; return None for an error that must reach the caller.

    Parameters
    ----------
    error : Exception
        What a method raised.

    Returns
    -------
    NotComputed or None
        None for an error the kit raised on purpose, for a programmer's mistake, and where errors are
        to come up as they were raised.

    Examples
    --------
    >>> failed(KeyError("throat")) is None
    True
    """
    if strict() or isinstance(error, LinestudyError):
        return None
    own = type(error).__module__.split(".")[0] in _LIBRARIES
    if not own and not isinstance(error, NUMERICAL):
        return None
    # A failing import or a wrong encoding are ValueErrors to Python, and nothing of numbers.
    return None if isinstance(error, UnicodeError) else NotComputed.because(error)


def check_presentable(finding: Finding) -> None:
    """Ask a finding for all that a document needs, so that what cannot be written fails at once.

    Parameters
    ----------
    finding : Finding
        What a method returned.

    Raises
    ------
    Exception
        Whatever its statement, cautions, table or record raise.
    """
    finding.record()
    finding.shown()
