"""How many parts, before anyone measures.

Model: normal parts, one limit that decides or both. The study succeeds when what the verdict decides on, the
one-sided lower confidence bound of the index or its estimate, lies above what is required; the chance of that is
computed by that very bound (`chances`). Parts that follow each other count for fewer, and of a tool with several streams
each has to pass. The verdict does not know that parts are normal: what its choice among distributions costs was measured
(`found_shape`), and a plan counts it in, unless the distribution is declared to be normal.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import ClassVar

from linestudy.plan.chances import (
    BASES,
    DecideOn,
    Process,
    ar1_sample_sizes,
    chance,
    per_cent_of,
)
from linestudy.plan.found_shape import LEAST, OTHER_SHAPES, chance_where_found
from linestudy.results import CannotJudge, Finding, arguments, counted
from linestudy.results.tables import Rows


@dataclass(frozen=True, slots=True)
class Chance:
    """What one sample size can show.

    Attributes
    ----------
    n : int
        Parts, of each stream.
    chance : float
        Probability that the study succeeds.
    found : float or None
        The same where the verdict finds the distribution from the readings, as it does unless nothing else is possible; None
        where that was not measured.
    """

    n: int
    chance: float
    found: float | None = None


@dataclass(frozen=True)
class SampleSize(Finding):
    """How many parts show an index, and what smaller samples could.

    Attributes
    ----------
    n : int
        Parts needed, of each stream: `n_found` where the verdict finds the distribution, else `n_normal`.
    true_index : float
        What the index is believed to be.
    required : float
        What it must be shown to exceed.
    power : float
        Probability of success that is asked for.
    confidence : float
        Of the one-sided lower bound.
    chances : tuple of Chance
        Sample sizes and the probability of success with each.
    decide_on : str
        ``"lower bound"`` or ``"estimate"``: what lies above what is required.
    potential_index : float or None
        Pp, where both limits are near; None where one decides.
    correlation : float
        Of neighbouring parts in the sample.
    effective : float
        Effective sample size of n correlated parts, for the standard deviation.
    streams : int
        Streams that all have to pass.
    n_found : int or None
        Parts needed, of each stream, where the verdict finds the distribution from the readings; None on the estimate, or
        where more would be needed than the search goes to.
    n_normal : int
        Parts needed, of each stream, where the distribution is known to be normal.
    family : str
        ``"auto"`` where the verdict finds the distribution, ``"normal"`` where it is known.
    """

    n: int
    true_index: float
    required: float
    power: float
    confidence: float
    chances: tuple[Chance, ...]
    decide_on: DecideOn
    potential_index: float | None
    correlation: float
    effective: float
    streams: int
    cautions: tuple[str, ...]
    n_found: int | None = None
    n_normal: int = 0
    family: str = "normal"
    title: ClassVar[str] = "Sample size"
    picture: ClassVar[str] = "plan:chance_of_success"

    @property
    def statement(self) -> str:
        parts = f"{self.n:,} {'' if self.correlation else 'independent '}parts"
        if self.streams > 1:
            parts += f" of each of {counted(self.streams, 'stream')}"
        if self.decide_on == "estimate":
            shows = f"have an estimate above {self.required:g}"
        else:
            shows = f"show it above {self.required:g} at {self.confidence:.0%} confidence"
        found = ", the distribution found from the readings" if self.n == self.n_found else ""
        return f"If the index is truly {self.true_index:g}, {parts} {shows} in {self.power:.0%} of studies{found}."

    def _rows(self) -> Rows:
        return [
            {"parts": one.n, "chance to show it, normal (%)": per_cent_of(one.chance)}
            | ({} if one.found is None else {"distribution found (%)": per_cent_of(one.found)})
            for one in self.chances
        ]


def chance_to_show(
    n: int,
    true_index: float,
    required: float,
    *,
    confidence: float = 0.95,
    decide_on: DecideOn = "lower bound",
    potential_index: float | None = None,
    correlation: float = 0.0,
    streams: int = 1,
) -> float:
    r"""Compute the probability that n parts show an index above what is required.

    Parameters
    ----------
    n : int
        Parts of each stream, at least 2.
    true_index : float
        True value of the index towards the nearer limit (Ppk).
    required : float
        Value that its lower confidence bound, or its estimate, must exceed.
    confidence : float
        Of the one-sided lower bound, between 0 and 1.
    decide_on : {"lower bound", "estimate"}
        What the verdict decides on (``decide_capability_on`` in study.toml).
    potential_index : float, optional
        True Pp, at least `true_index`, where both limits are near; equal to it for a centred process.
        When absent, one limit decides.
    correlation : float
        Of neighbouring parts in the sample, from 0 to below 1, falling by the same factor from part to part.
    streams : int
        Streams with this index that all have to pass.

    Returns
    -------
    float
        Between 0 and 1.

    Raises
    ------
    ValueError
        An argument outside its range.

    See Also
    --------
    sample_size : The smallest sample with a given probability.

    Notes
    -----
    Model: values of one normal distribution. With :math:`t_{n-1}(\delta)` the noncentral t distribution
    and :math:`c` its quantile at the confidence under :math:`\delta = 3\sqrt{n}\,C_0`, the probability is, for
    one limit,

    .. math:: P\{t_{n-1}(3\sqrt{n}\,C) > c\}

    for a true index :math:`C` and a required :math:`C_0`; on the estimate :math:`c = 3\sqrt{n}\,C_0`. With two limits the
    bound is the generalized pivotal quantity's, which a centred process passes less often. Correlated parts
    count as their effective numbers, taken as known. Streams are independent. A process whose index is just what is required
    passes on its bound with probability 1 less the confidence at most, and on its estimate in about half of all
    studies. Misleads where the distribution is not normal.

    References
    ----------
    Owen, *Technometrics* 10 (1968), 445-478, section 3. Mathew, Sebastian & Kurian, *Statistics & Probability
    Letters* 77 (2007), for two limits.

    Examples
    --------
    >>> print(f"{chance_to_show(100, 2.0, 1.67):.2f}, centred {chance_to_show(100, 2.0, 1.67, potential_index=2.0):.2f}")
    0.77, centred 0.69
    """
    arguments.whole("n", n, least=2)
    arguments.number("true_index", true_index)
    arguments.number("required", required)
    arguments.share("confidence", confidence)
    arguments.one_of("decide_on", decide_on, BASES)
    if potential_index is not None:
        arguments.number("potential_index", potential_index, least=true_index)
    arguments.number("correlation", correlation, least=0, below=1)
    arguments.whole("streams", streams, least=1)
    process = Process(true_index, potential_index, correlation)
    return chance(n, process, required, confidence, decide_on) ** streams


def sample_size(
    *,
    true_index: float = 2.0,
    required: float = 1.67,
    power: float = 0.8,
    confidence: float = 0.95,
    decide_on: DecideOn = "lower bound",
    potential_index: float | None = None,
    correlation: float = 0.0,
    streams: int = 1,
    family: str = "auto",
    largest: int = 100_000,
) -> SampleSize:
    """Find the smallest number of parts that shows an index above what is required.

    Parameters
    ----------
    true_index : float
        What the index is believed to be.
    required : float
        What it must be shown to exceed.
    power : float
        Probability of success that is asked for, between 0 and 1.
    confidence : float
        Of the one-sided lower bound, between 0 and 1.
    decide_on : {"lower bound", "estimate"}
        What the verdict decides on (``decide_capability_on`` in study.toml).
    potential_index : float, optional
        True Pp, at least `true_index`, where both limits are near; equal to it for a centred process.
        When absent, one limit decides.
    correlation : float
        Of neighbouring parts in the sample, from 0 to below 1.
    streams : int
        Streams with this index that all have to pass; the number found is of each.
    family : {"auto", "normal"}
        ``"auto"``, the default of a characteristic: the verdict finds the distribution from the readings, which takes more
        of them. ``"normal"``: study.toml states it.
    largest : int
        Number of parts at which the search gives up.

    Returns
    -------
    SampleSize
        With the probability of success of several sample sizes.

    Raises
    ------
    CannotJudge
        The true index is not above what is required, or the sample would be too large.
    ValueError
        An argument outside its range.

    See Also
    --------
    chance_to_show : The probability for one sample size, with model and formula.
    interval_size : Parts for an interval of a given width.

    Notes
    -----
    Bisection over :func:`chance_to_show`, which grows with the number of parts. With ``family="auto"`` and on the bound, over
    the chance of the verdict's own bound as it was measured on simulated studies of normal processes, and never fewer than
    the readings the verdict asks for. On the estimate that chance was not measured, and the normal one is taken.

    References
    ----------
    Owen, *Technometrics* 10 (1968), 445-478.

    Examples
    --------
    >>> print(sample_size(true_index=2.0, required=1.33).statement)
    If the index is truly 2, 195 independent parts show it above 1.33 at 95% confidence in 80% of studies, the distribution found from the readings.
    >>> sample_size(true_index=2.0, required=1.33, family="normal").n
    24
    """
    arguments.share("power", power)
    arguments.whole("largest", largest, least=2)
    arguments.one_of("family", family, ("auto", "normal"))
    if true_index <= required:
        raise CannotJudge("No sample shows an index above a value that it does not exceed.")

    def at(n: int) -> float:
        return chance_to_show(
            n,
            true_index,
            required,
            confidence=confidence,
            decide_on=decide_on,
            potential_index=potential_index,
            correlation=correlation,
            streams=streams,
        )

    def found(n: int) -> float | None:
        if decide_on == "estimate":
            return None
        n_eff = ar1_sample_sizes(n, correlation)[1]
        return chance_where_found(n_eff, true_index, required, streams)

    normal = smallest(at, power, largest)
    n_found = None
    if decide_on == "lower bound" and (family == "auto" or (found(largest) or 0.0) >= power):
        n_found = smallest(lambda n: found(n) or 0.0, power, largest)
    n = normal if family == "normal" or n_found is None else max(normal, n_found)
    beyond = (
        {n_found, *(size for size in (500, 1000, 2000) if 1.2 * n_found < size < 4 * n_found)}
        if n_found
        else set()
    )
    sizes = sorted({10, 30, 50, 100, 125, 200, 300, normal, *beyond})
    return SampleSize(
        n=n,
        true_index=true_index,
        required=required,
        power=power,
        confidence=confidence,
        chances=tuple(Chance(size, at(size), found(size)) for size in sizes),
        decide_on=decide_on,
        potential_index=potential_index,
        correlation=correlation,
        effective=ar1_sample_sizes(n, correlation)[1],
        streams=streams,
        cautions=(
            *_cautions(decide_on, potential_index, correlation, required),
            *_of_the_verdict(n, normal, n_found, found(normal), streams, power),
        ),
        n_found=n_found,
        n_normal=normal,
        family=family,
    )


def smallest(chance_at: Callable[[int], float], power: float, largest: int) -> int:
    """Find the smallest number with a chance of at least `power`, where the chance grows with the number.

    Parameters
    ----------
    chance_at : callable
        Number → chance.
    power : float
    largest : int
        Where the search gives up.

    Returns
    -------
    int

    Raises
    ------
    CannotJudge
        It would be larger than `largest`.
    """
    low, high = 2, 4
    while chance_at(high) < power:
        low, high = high, high * 2
        if high > largest:
            raise CannotJudge(f"More than {largest:,} parts would be needed.")
    while high - low > 1:
        middle = (low + high) // 2
        if chance_at(middle) < power:
            low = middle
        else:
            high = middle
    return high


def _of_the_verdict(
    n: int, normal: int, n_found: int | None, found: float | None, streams: int, power: float
) -> tuple[str, ...]:
    """Say how many parts the verdict needs to find the distribution, and its minimum whatever the index."""
    each = " of each stream" if streams > 1 else ""
    said = []
    if found is not None and n_found is not None and n == n_found > normal:
        if normal * streams < LEAST:
            rest = f"asks for at least {LEAST} readings (least_readings)"
        else:
            rest = f"with {normal:,} a normal process passes in about {found:.0%} of studies (measured on simulated studies)"
        said.append(
            f"Were the distribution known to be normal, {normal:,} parts{each} would do; the verdict finds it from the readings, and {rest}."
        )
        said.append(OTHER_SHAPES)
    elif found is not None and n_found is not None and n_found > n:
        said.append(
            f'This holds where study.toml states family = "normal". Where the verdict finds the distribution from the readings, {n:,} '
            f"parts{each} pass in about {found:.0%} of studies, and {n_found:,}{each} are needed for {power:.0%} (measured on simulated "
            "studies)."
        )
    if n * streams < LEAST:
        said.append(
            f"The verdict asks for at least {LEAST} readings (least_readings), however few show the index."
        )
    return tuple(said)


def _cautions(
    decide_on: DecideOn, potential_index: float | None, correlation: float, required: float
) -> tuple[str, ...]:
    found = []
    if correlation == 0:
        found.append("Parts must be independent: on a fast line take them far enough apart.")
    else:
        found.append(
            "The correlation must be that of the parts as they will be taken; notebook 4 estimates it."
        )
    if potential_index is None:
        found.append("One limit decides; where both are near, give Pp, and more parts are needed.")
    if decide_on == "estimate":
        found.append(
            f"On the estimate a process of {required:g}, and no better, passes in about half of all studies."
        )
    return tuple(found)
