"""Can the measurement be trusted."""

from linestudy.results.lazy import attach

_MODULES = {
    "grr.analysis": ("crossed", "crossed_stack"),
    "grr.finding": ("CrossedStudy",),
    "grr.influence": ("LeftOutStudy", "left_out"),
    "grr.ranges": ("AverageRangeStudy", "average_and_range"),
    "masters.bias_study": ("BiasStudy", "bias"),
    "masters.linearity_finding": ("LinearityStudy",),
    "masters.linearity_study": ("linearity",),
    "masters.repeatability_study": ("RepeatabilityStudy", "repeatability"),
    "masters.drift_study": ("DriftStudy", "drift"),
    "masters.overview": ("BiasOverview", "bias_overview"),
    "masters.reading_step": ("ResolutionStudy", "apparent_step", "resolution"),
    "masters.reading_unit": ("refuse_wrong_unit",),
    "comparison.two_gauges": ("AgreementStudy", "agreement"),
    "comparison.pairwise_slopes": ("passing_bablok",),
    "judgement.judgements": ("AttributeStudy", "attribute"),
    "judgement.acceptance_curve": ("JudgementCurve", "judgement_curve"),
    "destructive.nested_study": ("NestedStudy", "nested"),
    "budget.expanded": ("Contribution", "UncertaintyStudy", "uncertainty"),
    "budget.risk_study": ("RiskStudy", "risk"),
    "budget.verdict_shares": ("wrong_verdicts",),
    "evaluate": ("evaluate",),
}

__getattr__, __dir__, __all__ = attach(
    __name__, {name: module for module, names in _MODULES.items() for name in names}
)
