"""The instruments of the demo: what their makers would claim, their papers, and the checks made on site.

Pure. None of these instruments exists. What is *wrong* with each of them is not here: a consultant does not know it
either. The faults live in ``demo.meters``; a test holds the checks below against them.
"""

from __future__ import annotations

from datetime import UTC, date, datetime

from demo.shapes import DemoCalibration, DemoChannel, DemoClockCheck, DemoFieldCheck, DemoInstrument, DemoInstrumentType

HCHO = "formaldehyde"
#: What the makers would claim of a span: 0.01 % a day, 3.7 % a year.
SPAN_DRIFT = 0.0001
_INTERFERENCE = "Alcohols, other aldehydes, sudden steps of humidity."


#: What the channels of a gas answer to, by parameter; the simulated ones know no air pressure.
ANSWERS_TO = {HCHO: "fraction", "co2": "compensated"}


def _climate(t90_s: float) -> tuple[DemoChannel, DemoChannel]:
    return (
        DemoChannel("temperature", "°C", 0.1, None, -10, 60, t90_s, 0.3, 0.0, 0.0, 0.0, 0.0),
        DemoChannel("humidity", "%RH", 1.0, None, 0, 100, t90_s, 2.0, 0.02, 0.0, 0.0, 0.0),
    )


def _co2() -> DemoChannel:
    return DemoChannel("co2", "ppm", 1.0, None, 0, 5000, 60, 25.0, 0.03, 0.0, 0.0, 0.0, span_drift=SPAN_DRIFT)


TYPES: tuple[DemoInstrumentType, ...] = (
    DemoInstrumentType(
        "pocket",
        "Pocket meter, two decimals",
        "electrochemical, pumped",
        _INTERFERENCE,
        log_interval_s=60,
        stores="spot",
        warm_up_s=300,
        battery_h=10,
        memory_points=8000,
        temperature_range_c=(5, 40),
        humidity_range=(15, 90),
        channels=(
            DemoChannel(HCHO, "ppm", 0.01, 0.01, 0, 5, 80, 0.005, 0.05, 0.004, 0.002, 0.003, span_drift=SPAN_DRIFT),
        ),
    ),
    DemoInstrumentType(
        "survey",
        "Survey meter with climate probe",
        "electrochemical, pumped",
        _INTERFERENCE,
        log_interval_s=60,
        stores="spot",
        warm_up_s=300,
        battery_h=12,
        memory_points=20000,
        temperature_range_c=(5, 40),
        humidity_range=(15, 90),
        channels=(
            DemoChannel(HCHO, "ppm", 0.01, 0.01, 0, 10, 90, 0.005, 0.05, 0.004, 0.002, 0.003, span_drift=SPAN_DRIFT),
            *_climate(60),
        ),
    ),
    DemoInstrumentType(
        "fine",
        "Fine-range meter, three decimals",
        "electrochemical with filter exchange, pumped",
        _INTERFERENCE,
        log_interval_s=60,
        stores="spot",
        warm_up_s=300,
        battery_h=9,
        memory_points=480,
        temperature_range_c=(10, 35),
        humidity_range=(20, 80),
        channels=(
            DemoChannel(HCHO, "ppm", 0.001, 0.005, 0, 0.5, 60, 0.004, 0.05, 0.003, 0.001, 0.003, span_drift=SPAN_DRIFT),
            _climate(60)[0],
        ),
    ),
    DemoInstrumentType(
        "shelf",
        "Shelf logger, mass units",
        "electrochemical, diffusion",
        _INTERFERENCE,
        log_interval_s=120,
        stores="mean",
        warm_up_s=600,
        battery_h=96,
        memory_points=30000,
        temperature_range_c=(0, 45),
        humidity_range=(10, 90),
        channels=(
            DemoChannel(HCHO, "µg/m³", 1.0, 6.0, 0, 2000, 180, 5.0, 0.07, 2.0, 1.5, 3.0, 25.0, 101.325, SPAN_DRIFT),
            _co2(),
            *_climate(120),
        ),
    ),
    DemoInstrumentType(
        "wall",
        "Wall logger, volume units",
        "electrochemical, diffusion",
        _INTERFERENCE,
        log_interval_s=120,
        stores="mean",
        warm_up_s=600,
        battery_h=120,
        memory_points=40000,
        temperature_range_c=(0, 45),
        humidity_range=(10, 90),
        channels=(
            DemoChannel(HCHO, "ppb", 1.0, 5.0, 0, 1000, 180, 4.0, 0.07, 2.0, 1.0, 2.5, span_drift=SPAN_DRIFT),
            _co2(),
            *_climate(120),
        ),
    ),
)

INSTRUMENTS: tuple[DemoInstrument, ...] = (
    DemoInstrument("A", "Meter A", "DEMO-PK-0417", "pocket", "site"),
    DemoInstrument("B", "Meter B", "DEMO-SV-1138", "survey", "site"),
    DemoInstrument("C", "Meter C", "DEMO-FN-0052", "fine", "fixed", 60),
    DemoInstrument("L1", "Logger 1", "DEMO-SH-2201", "shelf", "utc"),
    DemoInstrument("L2", "Logger 2", "DEMO-WL-0309", "wall", "site"),
)

#: Meter C was never given span gas on site: its span error is only in its certificate. Logger 2 is overdue.
CALIBRATIONS: tuple[DemoCalibration, ...] = (
    DemoCalibration("A", HCHO, date(2026, 3, 2), date(2027, 3, 2), 1.0, 0.0),
    DemoCalibration("B", HCHO, date(2026, 1, 19), date(2027, 1, 19), 1.0, 0.0),
    DemoCalibration("C", HCHO, date(2026, 6, 8), date(2027, 6, 8), 0.94, 0.0),
    DemoCalibration("L1", HCHO, date(2026, 5, 11), date(2027, 5, 11), 1.03, 0.0),
    DemoCalibration("L1", "co2", date(2026, 5, 11), date(2027, 5, 11), 1.0, 0.0),
    DemoCalibration("L2", HCHO, date(2025, 7, 7), date(2026, 7, 7), 1.0, 0.0),
    DemoCalibration("L2", "co2", date(2025, 7, 7), date(2026, 7, 7), 1.0, 0.0),
)


def _utc(day: int, clock: str) -> datetime:
    hour, minute, *second = (int(part) for part in clock.split(":"))
    return datetime(2026, 9, day, hour, minute, second[0] if second else 0, tzinfo=UTC)


def _shown(day: int, clock: str) -> datetime:
    return _utc(day, clock).replace(tzinfo=None)


#: UTC. Meter B: three zero checks a day tell of its drift. Meter C: none after its last afternoon.
FIELD_CHECKS: tuple[DemoFieldCheck, ...] = (
    DemoFieldCheck("A", HCHO, "zero", _utc(14, "06:20"), 0.0, 0.00),
    DemoFieldCheck("A", HCHO, "span", _utc(14, "06:26"), 0.5, 0.48),
    DemoFieldCheck("A", HCHO, "zero", _utc(14, "15:14"), 0.0, 0.00),
    DemoFieldCheck("A", HCHO, "zero", _utc(15, "06:12"), 0.0, 0.00),
    DemoFieldCheck("A", HCHO, "zero", _utc(15, "15:05"), 0.0, 0.00),
    DemoFieldCheck("A", HCHO, "span", _utc(15, "15:11"), 0.5, 0.48),
    DemoFieldCheck("B", HCHO, "zero", _utc(14, "06:18"), 0.0, 0.00),
    DemoFieldCheck("B", HCHO, "span", _utc(14, "06:24"), 0.5, 0.51),
    DemoFieldCheck("B", HCHO, "zero", _utc(14, "10:20"), 0.0, 0.01),
    DemoFieldCheck("B", HCHO, "zero", _utc(14, "15:12"), 0.0, 0.02),
    DemoFieldCheck("B", HCHO, "zero", _utc(15, "06:18"), 0.0, 0.03),
    DemoFieldCheck("B", HCHO, "zero", _utc(15, "10:24"), 0.0, 0.04),
    DemoFieldCheck("B", HCHO, "zero", _utc(15, "15:08"), 0.0, 0.05),
    DemoFieldCheck("B", HCHO, "span", _utc(15, "15:14"), 0.5, 0.56),
    DemoFieldCheck("C", HCHO, "zero", _utc(14, "06:15"), 0.0, 0.002),
    DemoFieldCheck("C", HCHO, "zero", _utc(14, "15:02"), 0.0, 0.003),
    DemoFieldCheck("C", HCHO, "zero", _utc(15, "06:16"), 0.0, 0.002),
    DemoFieldCheck("L1", HCHO, "zero", _utc(14, "05:40"), 0.0, 2.0),
    DemoFieldCheck("L1", HCHO, "zero", _utc(16, "14:40"), 0.0, 2.0),
    DemoFieldCheck("L2", HCHO, "zero", _utc(14, "05:45"), 0.0, 0.0),
)

#: Nobody looked at meter A's clock until it was back on the office desk: the app has to find the 61 minutes first.
CLOCK_CHECKS: tuple[DemoClockCheck, ...] = (
    DemoClockCheck("A", _shown(17, "09:14:00"), _utc(17, "08:15:00"), "afterwards"),
    DemoClockCheck("B", _shown(14, "08:15:20"), _utc(14, "06:15:00"), "on site"),
    DemoClockCheck("B", _shown(15, "17:20:20"), _utc(15, "15:20:00"), "on site"),
    DemoClockCheck("C", _shown(14, "07:10:00"), _utc(14, "06:10:00"), "on site"),
    DemoClockCheck("C", _shown(15, "15:30:40"), _utc(15, "14:30:00"), "on site"),
    DemoClockCheck("L1", _shown(14, "05:35:00"), _utc(14, "05:35:00"), "on site"),
    DemoClockCheck("L1", _shown(16, "14:45:00"), _utc(16, "14:45:00"), "on site"),
    DemoClockCheck("L2", _shown(14, "07:42:30"), _utc(14, "05:44:00"), "on site"),
)
