"""The picture of streams between the limits: every stream with its bar, the worst one marked."""

from __future__ import annotations

import numpy as np

from linestudy.capability import process_capability, stream_capability
from linestudy.figures.streams import streams_between_limits


def test_every_stream_stands_between_the_limits_and_the_worst_is_marked() -> None:
    rng = np.random.default_rng(1)
    found = {
        name: process_capability(rng.normal(at, 1, 100), -5.0, 5.0)
        for name, at in (("lane 1", 0.0), ("lane 2", 1.5))
    }
    picture = streams_between_limits(stream_capability(found))
    axes = picture.axes[0]
    assert [label.get_text() for label in axes.get_yticklabels()] == ["lane 2", "lane 1"]
    texts = [text.get_text() for text in axes.texts]
    assert sum("worst" in text for text in texts) == 1
    assert sum(text.startswith("Ppk") for text in texts) == 2
    assert picture.alt_text.startswith("Of 2 streams lane 2 is the worst")
