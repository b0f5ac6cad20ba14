"""Before anyone measures: sample sizes and sheets in random order."""

from linestudy.results.lazy import attach

__getattr__, __dir__, __all__ = attach(
    __name__,
    {
        "GaugeStudySize": "gauge_sizes",
        "IntervalSize": "widths",
        "SampleSize": "sizes",
        "chance_to_show": "sizes",
        "crossed_sheet": "sheets",
        "gauge_study_size": "gauge_sizes",
        "interval_size": "widths",
        "judgement_sheet": "sheets",
        "masters_sheet": "sheets",
        "paired_sheet": "sheets",
        "run_sheet": "sheets",
        "sample_size": "sizes",
        "write_sheets": "sheets",
    },
)
