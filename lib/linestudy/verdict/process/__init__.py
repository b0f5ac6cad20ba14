"""What a run says of its process, apart from any limit: does it hold still, what is its tail."""

from linestudy.results.lazy import attach

__getattr__, __dir__, __all__ = attach(
    __name__,
    {
        "OutPoint": "points",
        "Process": "describe",
        "Steadiness": "steadiness",
        "Stream": "describe",
        "Tags": "tags",
        "describe": "describe",
        "steadiness": "steadiness",
    },
)
