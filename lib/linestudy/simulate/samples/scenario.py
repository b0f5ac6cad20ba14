"""The invented line of the sample study: Quillmoor Contacts, fork receptacle QC-28.

Plant, part and people are invented. Sizes of effects are chosen so that the outcome is
mixed: some characteristics meet, one needs approval, one falls short, one gauge is marginal.
"""

from __future__ import annotations

from dataclasses import dataclass

from linestudy.simulate.process import MeasuringSystem, Process

SEED = 20260302
LINE_RATE = 260
STROKES = 2 * 60 * LINE_RATE
COILS_FROM = (0, 7_900, 15_700, 23_600)
REGRIND_AT = 20_000
WIPES = (9_000, 18_200, 26_500)
#: Stroke after which the line stopped, and for how many minutes.
STOPS = (
    (3_120, 2.5),
    (7_900, 6.0),
    (11_480, 1.5),
    (15_700, 7.0),
    (20_000, 12.0),
    (23_600, 5.5),
    (28_310, 2.0),
)
PURGED_AFTER_STOP = 12
#: The clock goes back one hour at the end of summer time.
BEGIN = "2025-10-26 01:12:00"
CLOCK_BACK_AT = "2025-10-26 03:00:00"


@dataclass(frozen=True)
class Feature:
    """One camera characteristic: claim, process, gauges, masters.

    Attributes
    ----------
    id, name, column, cmm_column : str
    nominal, lower, upper, bound : float or None
        Limits in millimetre.
    plausible : tuple of float
    process : Process
    camera, cmm : MeasuringSystem
    masters : tuple of float
        Sizes of the reference masters.
    """

    id: str
    name: str
    column: str
    cmm_column: str
    nominal: float | None
    lower: float | None
    upper: float
    bound: float | None
    plausible: tuple[float, float]
    process: Process
    camera: MeasuringSystem
    cmm: MeasuringSystem
    masters: tuple[float, ...]

    @property
    def magnitude(self) -> bool:
        """True where readings cannot go below zero."""
        return self.bound == 0.0


FEATURES = (
    Feature(
        "blade",
        "Blade width",
        "BladeWidth",
        "WIDTH",
        2.80,
        2.75,
        2.85,
        None,
        (2.5, 3.1),
        Process(2.7950, 0.0068, wear_per_thousand=0.00042, regrinds=(REGRIND_AT,)),
        MeasuringSystem(0.0010, 0.0004, resolution=0.001),
        MeasuringSystem(0.0005, 0.0002, resolution=0.0001),
        (2.760, 2.780, 2.800, 2.820, 2.840),
    ),
    Feature(
        "throat",
        "Throat gap",
        "ThroatGap",
        "GAP",
        0.60,
        0.56,
        0.66,
        None,
        (0.3, 0.9),
        Process(0.6030, 0.0089, skewness_shape=5.0, coil_sd=0.0016),
        MeasuringSystem(0.0011, 0.0005, bias=0.0008, resolution=0.001),
        MeasuringSystem(0.0005, 0.0002, resolution=0.0001),
        (0.570, 0.590, 0.610, 0.630, 0.650),
    ),
    Feature(
        "offset",
        "Tine offset",
        "TineOffset",
        "OFFSET",
        None,
        None,
        0.08,
        0.0,
        (-1.0, 0.5),
        Process(0.0060, 0.0142, folded=True),
        MeasuringSystem(0.0009, 0.0003, resolution=0.001),
        MeasuringSystem(0.0004, 0.0001, resolution=0.0001),
        (0.010, 0.025, 0.040, 0.055, 0.070),
    ),
    Feature(
        "shoulder",
        "Shoulder length",
        "ShoulderLength",
        "LENGTH",
        6.40,
        6.32,
        6.48,
        None,
        (5.9, 6.9),
        Process(6.4030, 0.0182, stations=(-0.0175, 0.0175)),
        MeasuringSystem(0.0016, 0.0007, resolution=0.001),
        MeasuringSystem(0.0006, 0.0002, resolution=0.0001),
        (6.330, 6.365, 6.400, 6.435, 6.470),
    ),
    Feature(
        "seam",
        "Seam width",
        "SeamWidth",
        "SEAM",
        0.45,
        0.33,
        0.57,
        None,
        (0.1, 0.8),
        Process(0.4460, 0.0150, serial=0.80),
        MeasuringSystem(0.0055, 0.0030, soiling_per_thousand=0.0010, wipes=WIPES, resolution=0.001),
        MeasuringSystem(0.0020, 0.0008, resolution=0.0001),
        (0.350, 0.400, 0.450, 0.500, 0.550),
    ),
)

APPRAISERS = {"Ana": (0.00, 0.06), "Bo": (0.03, 0.08), "Cem": (-0.10, 0.26)}
PULL_MEAN, PULL_SDS = 84.0, (2.0, 3.4)
#: Mean and SD of the camera's readings of the seams that were pulled, and the share of the force's variance with them.
PULLED_WIDTH, PULL_BY_WIDTH = (0.45, 0.05), 0.5
