"""The criteria a verdict is made by: the study's own where it names them, else the usual ones."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from linestudy.study.scope_of_criteria import layers_of

if TYPE_CHECKING:
    from linestudy.study.model import Characteristic
    from linestudy.study.model import Criteria as StudyCriteria

_PPAP = "AIAG PPAP, 4th ed. (2006), 2.2.11.3"
_MSA = "AIAG MSA, 4th ed. (2010)"
_VDA = "VDA 5, 3rd ed. (2021)"
_COMMON = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Default:
    """A criterion and its default.

    Attributes
    ----------
    value : float or str
    source : str
    stricter : str
        ``"higher"`` or ``"lower"``: which way the criterion asks for more.
    """

    value: float | str
    source: str
    stricter: str


#: Key → default value, where it comes from, and which way is stricter.
DEFAULTS: dict[str, Default] = {
    "capability_accept": Default(1.67, _PPAP, "higher"),
    "capability_review": Default(1.33, _PPAP, "higher"),
    "grr_accept": Default(0.10, f"{_MSA}, ch. II, table II-D 1", "lower"),
    "grr_review": Default(0.30, f"{_MSA}, ch. II, table II-D 1", "lower"),
    "grr_multiplier": Default(6.0, f"{_MSA}, ch. III section B", "higher"),
    "grr_of": Default("tolerance", _COMMON, "largest"),
    "ndc_min": Default(5.0, f"{_MSA}, ch. II section D", "higher"),
    "bias_alpha": Default(0.05, f"{_MSA}, ch. III section B", "higher"),
    "bias_share": Default(0.05, _COMMON, "lower"),
    "drift_share": Default(0.05, _COMMON, "lower"),
    "q_ms_max": Default(0.15, _VDA, "lower"),
    "q_mp_max": Default(0.30, _VDA, "lower"),
    "cg_min": Default(1.33, _COMMON, "higher"),
    "cgk_min": Default(1.33, _COMMON, "higher"),
    "cg_fraction": Default(0.20, _COMMON, "lower"),
    "cg_multiplier": Default(6.0, _COMMON, "higher"),
    "resolution_share": Default(0.10, f"{_MSA}, ch. I section E", "lower"),
    "contradiction": Default(0.001, _COMMON, "higher"),
    "kappa_min": Default(0.75, f"{_MSA}, ch. III section C", "higher"),
    "effectiveness_min": Default(0.90, f"{_MSA}, ch. III section C", "higher"),
    "effectiveness_review": Default(0.80, f"{_MSA}, ch. III section C", "higher"),
    "miss_max": Default(0.02, f"{_MSA}, ch. III section C", "lower"),
    "miss_review": Default(0.05, f"{_MSA}, ch. III section C", "lower"),
    "false_alarm_max": Default(0.05, f"{_MSA}, ch. III section C", "lower"),
    "false_alarm_review": Default(0.10, f"{_MSA}, ch. III section C", "lower"),
    "stability_alpha": Default(0.005, _COMMON, "higher"),
    "decide_capability_on": Default("estimate", _COMMON, "lower bound"),
    "decide_measurement_on": Default("estimate", _COMMON, "lower bound"),
    "least_readings": Default(100.0, _PPAP, "higher"),
    "least_subgroups": Default(25.0, _PPAP, "higher"),
}
#: What each criterion is called in a document.
CRITERION_NAMES = {
    "capability_accept": "index above which a characteristic is accepted",
    "capability_review": "index from which it may be accepted by approval",
    "grr_accept": "%GRR, accepted up to",
    "grr_review": "%GRR, by approval up to",
    "grr_multiplier": "standard deviations that the gauge's spread counts",
    "grr_of": "%GRR as a share of",
    "ndc_min": "ndc, at least",
    "bias_alpha": "significance level of the test of bias (shown, not decided on)",
    "bias_share": "bias at the limits, of tolerance, its 90 % interval within",
    "drift_share": "drift between two resets, of tolerance, its 90 % interval within",
    "q_ms_max": "Q_MS, at most",
    "q_mp_max": "Q_MP, at most",
    "cg_min": "Cg, at least",
    "cgk_min": "Cgk, at least",
    "cg_fraction": "share of the tolerance that Cg and Cgk allow",
    "cg_multiplier": "standard deviations that Cg and Cgk count",
    "resolution_share": "resolution, of tolerance, at most",
    "contradiction": "significance level at which studies, or counts and expectation, contradict each other",
    "kappa_min": "kappa against the reference, at least",
    "effectiveness_min": "effectiveness of every appraiser, at least",
    "effectiveness_review": "effectiveness by approval, at least",
    "miss_max": "miss rate, at most",
    "miss_review": "miss rate by approval, at most",
    "false_alarm_max": "false alarm rate, at most",
    "false_alarm_review": "false alarm rate by approval, at most",
    "stability_alpha": "significance level at which a process counts as not in control",
    "decide_capability_on": "number a capability decision is made on",
    "decide_measurement_on": "number a measurement decision is made on",
    "least_readings": "readings of an initial study, at least",
    "least_subgroups": "subgroups of an initial study, at least",
}

#: Criteria that are shares, shown in per cent.
CRITERIA_IN_PERCENT = (
    "grr_accept",
    "grr_review",
    "bias_share",
    "drift_share",
    "q_ms_max",
    "q_mp_max",
    "cg_fraction",
    "resolution_share",
    "effectiveness_min",
    "effectiveness_review",
    "miss_max",
    "miss_review",
    "false_alarm_max",
    "false_alarm_review",
)
#: The source of a criterion that study.toml sets and gives no source for.
NO_SOURCE = "set by the author of the study"
_OLD = "decide_on"
_BOTH = ("decide_capability_on", "decide_measurement_on")


@dataclass(frozen=True, slots=True)
class Criterion:
    """One threshold and whose it is.

    Attributes
    ----------
    key : str
        Its name in study.toml.
    value : float or str
        Indices and shares are pure numbers.
    source : str
        A standard with its section, or the customer as study.toml names them.
    """

    key: str
    value: float | str
    source: str

    @property
    def number(self) -> float:
        """The value, for criteria that are numbers."""
        return float(self.value)

    @property
    def name(self) -> str:
        """What it is called in a document."""
        return CRITERION_NAMES[self.key]

    @property
    def shown(self) -> str:
        """Its value as text, shares in per cent."""
        return _shown(self.key, self.value)

    @property
    def percent(self) -> str:
        """A share in per cent, as it is held against: no digit of it is rounded away."""
        return f"{100 * self.number:g}%"

    @property
    def usual(self) -> str:
        """The value it has where nobody sets it, as text."""
        return _shown(self.key, DEFAULTS[self.key].value)

    @property
    def departs(self) -> str:
        """How it departs from the default: a choice that may ask for more or less is only another one."""
        return "other" if self.key == "grr_of" else "weaker"

    @property
    def weaker(self) -> bool:
        """Whether it asks for less than the default does."""
        default = DEFAULTS[self.key]
        if isinstance(default.value, str):
            return self.value != default.value and self.value != default.stricter
        if default.stricter == "higher":
            return self.number < default.value
        return self.number > default.value


def two_places(number: float, /) -> str:
    """Write an index, or what is asked of one, with at least two decimals.

    Parameters
    ----------
    number : float

    Returns
    -------
    str

    Examples
    --------
    >>> two_places(1.0), two_places(1.67), two_places(1.335)
    ('1.00', '1.67', '1.335')
    """
    return max(f"{number:.2f}", f"{number:g}", key=len)


def _shown(key: str, value: float | str) -> str:
    if isinstance(value, str):
        return value
    if key in CRITERIA_IN_PERCENT:
        return f"{100 * value:g} %"
    return two_places(value) if key.startswith("capability") else f"{value:g}"


@dataclass(frozen=True)
class Criteria:
    """All criteria of a study, resolved.

    Attributes
    ----------
    items : dict of str to Criterion
        By key.
    """

    items: dict[str, Criterion]

    def __getitem__(self, key: str) -> Criterion:
        return self.items[key]

    @property
    def capability_on_bound(self) -> bool:
        """True when an index is held by its lower confidence bound."""
        return self.items["decide_capability_on"].value == "lower bound"

    @property
    def measurement_on_bound(self) -> bool:
        """True when gauges and judgements are held by their unfavourable confidence bound."""
        return self.items["decide_measurement_on"].value == "lower bound"

    @property
    def weaker(self) -> tuple[Criterion, ...]:
        """Criteria that ask for less than their default."""
        return tuple(item for item in self.items.values() if item.weaker)


def resolve(
    given: StudyCriteria | None = None, characteristic: Characteristic | None = None
) -> Criteria:
    """Fill in the defaults of criteria that a study does not name.

    Parameters
    ----------
    given : linestudy.study.model.Criteria, optional
        The [criteria] table of study.toml.
    characteristic : linestudy.study.model.Characteristic, optional
        Its class ([criteria.special] or [criteria.other]) and its own ``criteria`` come on top.

    Returns
    -------
    Criteria
        A criterion that the study sets is named as the study's (or as its
        ``source`` says); the others carry the source of the default. Of several that set the
        same key the nearest to the characteristic holds.

    See Also
    --------
    linestudy.verdict.rule_on : What the criteria decide.

    Examples
    --------
    >>> resolve()["capability_accept"].number
    1.67
    """
    items = {
        key: Criterion(key, default.value, default.source) for key, default in DEFAULTS.items()
    }
    for layer in layers_of(given, characteristic):
        owner = getattr(layer, "source", None) or NO_SOURCE
        both = getattr(layer, _OLD, None)
        for key in DEFAULTS:
            own = getattr(layer, key, None)
            if own is None and key in _BOTH:
                own = both
            if own is not None:
                items[key] = Criterion(key, own, owner)
    return Criteria(items)
