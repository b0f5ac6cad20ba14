"""What several files of this room measure."""

from __future__ import annotations

import pandas as pd
import pytest
from crossed_readings import crossed_readings


@pytest.fixture
def coarse() -> pd.DataFrame:
    # Repeatability 0.001 read in steps of 0.01: all readings of a cell agree.
    return crossed_readings(3, error=0.0, person=0.05).round({"value": 2})
