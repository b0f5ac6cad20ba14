"""Before anyone measures: sample sizes and sheets in random order."""

from linestudy.core.lazy import attach

__getattr__, __dir__, __all__ = attach(
    __name__,
    {
        "SampleSize": "sizes",
        "chance_to_show": "sizes",
        "crossed_sheet": "sizes",
        "sample_size": "sizes",
    },
)
