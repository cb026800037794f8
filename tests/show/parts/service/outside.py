"""What the service computes beside what others have published, one figure a line."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from bridge.level import volume
from bridge.level.viscosity import Fluid, viscosity_mm2_s
from bridge.service.amounts import (
    Amount,
    Jug,
    MeasuredAmount,
    TempSpan,
    Terms,
    corrected,
    together,
)
from bridge.service.fastening import tube_lift
from bridge.service.rounds import old_share
from bridge.units import Dimension, Units, parse_quantity, temperature_in
from bridge.values.service_sheet import Fastener

SIXTY_F_C = (60.0 - 32.0) / 1.8


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One published figure and ours."""

    name: str
    source: str
    published: float
    ours: float
    allowed: float
    """How far apart they may be: what the source's last digit, or its method, gives."""

    @property
    def difference(self) -> float:
        """Ours less the published one."""
        return self.ours - self.published

    @property
    def holds(self) -> bool:
        """Whether it is close enough."""
        return abs(self.difference) <= self.allowed


def checks() -> list[Check]:
    """All of them."""
    return [
        *_oil_metric(),
        *_oil_customary(),
        *_viscosity(),
        *_threads(),
        *_units(),
        *_uncertainty(),
        *_shares(),
    ]


def _oil_metric() -> Iterator[Check]:
    for clause, density, temp_c, factor in (
        ("11.1.7.2 ex. 9", 1163.078239292, -49.97, 1.034672971366),
        ("11.1.7.2 ex. 10", 820.979105095, 150.0, 0.894250233938),
    ):
        yield Check(
            name=f"oil {density:.1f} kg/m3 at {temp_c:g} degC",
            source=f"API MPMS 11.1 (2004), {clause}",
            published=factor,
            ours=volume.correction(temp_c, density),
            allowed=1e-5,  # the plain 54D formula differs by up to 8.7e-6
        )


def _oil_customary() -> Iterator[Check]:
    for clause, density_60f, temp_f, factor in (
        ("11.1.6.1 ex. 8", 810.55483945, 129.3, 0.969922293864),
        ("11.1.6.2 ex. 8", 917.442430351, 78.7, 0.992874116475),
        ("11.1.6.2 ex. 9", 801.061124839, 302.0, 0.892011191342),
        ("11.1.6.3 ex. 9", 917.505498029, 98.65, 0.985240961815),
    ):
        density = density_60f
        for _ in range(20):
            density = density_60f / volume.correction(SIXTY_F_C, density)
        at_temp = volume.correction((temp_f - 32.0) / 1.8, density)
        yield Check(
            name=f"oil {density_60f:.1f} kg/m3 at {temp_f:g} degF",
            source=f"API MPMS 11.1 (2004), {clause}",
            published=factor,
            ours=at_temp / volume.correction(SIXTY_F_C, density),
            allowed=1e-5,
        )


def _viscosity() -> Iterator[Check]:
    yield Check(
        name="32/5.4 mm2/s oil at 80 degC",
        source="ASTM D341, published worked example",
        published=8.5,
        ours=viscosity_mm2_s(80.0, Fluid(at_40_mm2_s=32.0, at_100_mm2_s=5.4)),
        allowed=0.05,
    )


def _threads() -> Iterator[Check]:
    for thread, turns, mm, ml in (
        ("M10x1", 1.0, 1.0, 50.0),
        ("M14x1.5", 0.5, 0.75, 37.5),
        ("M20x1.5", 3.0, 4.5, 225.0),
        ("M24", 1.0, 3.0, 150.0),
    ):
        tube = Fastener(name="tube", thread=thread, turns_back=turns)
        lift = tube_lift(tube, None, 500.0)
        assert lift is not None
        assert lift.volume_ml is not None
        source = "ISO 261 pitch, single start"
        name = f"{thread} {turns:g} turns"
        yield Check(
            name=f"{name}, mm",
            source=source,
            published=mm,
            ours=lift.height_mm,
            allowed=1e-9,
        )
        yield Check(
            name=f"{name}, mL over 500 cm2",
            source=source,
            published=ml,
            ours=lift.volume_ml,
            allowed=1e-9,
        )


def _units() -> Iterator[Check]:
    for text, dimension, printed in (
        ("1 qt", Dimension.VOLUME, 9.463529e-01),
        ("1 fluid_ounce", Dimension.VOLUME, 2.957353e-02),
        ("1 lbf*ft", Dimension.TORQUE, 1.355818),
        ("1 lbf*in", Dimension.TORQUE, 1.129848e-01),
        ("1 mi", Dimension.DISTANCE, 1.609344),
    ):
        yield Check(
            name=f"{text} in our unit",
            source="NIST SP 811 (2008), B.8",
            published=printed,
            ours=parse_quantity(text, dimension),
            allowed=5e-7 * printed,  # seven digits are printed
        )
    yield Check(
        name="45 degC in degF",
        source="NIST SP 811 (2008), B.8",
        published=113.0,
        ours=temperature_in(45.0, Units.US),
        allowed=1e-9,
    )


def _uncertainty() -> Iterator[Check]:
    jug = Jug(graduation_ml=0.0, left_most_ml=0.0, scale_half=0.40e-6)
    terms = Terms(jug=jug, thermometer_half_c=0.0)
    copper = corrected(
        MeasuredAmount(ml=1.0, temp_c=20.0),
        terms,
        TempSpan(low_c=20.0, high_c=20.0, name=""),
    )
    yield Check(
        name="bounds of 0.40e-6 as standard deviation, e-6",
        source="JCGM 100:2008, 4.3.7 ex. 1 (from memory)",
        published=0.23,
        ours=copper.sd_ml * 1e6,
        allowed=0.005,
    )
    for name, published, amount, allowed in (
        (
            "ten resistors, one standard, ohm",
            1.0,
            Amount(ml=1e3, scale_sd_ml=0.1),
            1e-9,
        ),
        ("the same, independent, ohm", 0.32, Amount(ml=1e3, reading_sd_ml=0.1), 0.005),
    ):
        yield Check(
            name=name,
            source="JCGM 100:2008, 5.2.2 (from memory)",
            published=published,
            ours=together([amount] * 10).sd_ml,
            allowed=allowed,
        )
    gauge = Amount(
        ml=0.0, reading_sd_ml=25.0, scale_sd_ml=9.7, temp_sd_ml=2.9, density_sd_ml=16.6
    )
    yield Check(
        name="end gauge, nm",
        source="JCGM 100:2008, H.1.4 (from memory)",
        published=32.0,
        ours=gauge.sd_ml,
        allowed=0.5,
    )


def _shares() -> Iterator[Check]:
    for drains, left in ((1, 60.0), (2, 36.0), (3, 21.6), (4, 12.96)):
        rounds = [Amount(ml=4000.0)] * drains
        share = old_share(rounds, Amount(ml=10_000.0)).share
        yield Check(
            name=f"old fluid after {drains} drains of 40 %, %",
            source="trade table (common practice, no source)",
            published=left,
            ours=100.0 * share,
            allowed=1e-9,
        )
