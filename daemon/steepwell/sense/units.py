"""Units that messages come in, and how each is brought to the one used inside."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell.errors import MessageRefusedError

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from steepwell.garden.sensors import Sensor

# What a value is multiplied by, and what is added then.
Scale = tuple[float, float]
Scales = dict[str, Scale]

LENGTHS: Scales = {"m": (1.0, 0.0), "cm": (0.01, 0.0), "mm": (0.001, 0.0)}
SHARES: Scales = {"%": (0.01, 0.0)}
VOLUMES: Scales = {"L": (1.0, 0.0), "m3": (1000.0, 0.0)}
WATER_DEPTHS: Scales = {"mm": (1.0, 0.0), "m": (1000.0, 0.0)}
COUNTS: Scales = {"count": (1.0, 0.0)}
TEMPERATURES: Scales = {"Cel": (1.0, 0.0), "K": (1.0, -273.15), "degF": (5 / 9, -160 / 9)}
PRESSURES: Scales = {
    "Pa": (1.0, 0.0),
    "hPa": (100.0, 0.0),
    "mbar": (100.0, 0.0),
    "kPa": (1000.0, 0.0),
    "bar": (100_000.0, 0.0),
}
# What a SenML sum of a rate of rain is in: the rate's unit times seconds (RFC 8428, 4.5.4).
SUMMED = "*s"
RAIN_SUMS: Scales = {f"m/s{SUMMED}": (1000.0, 0.0)}

# SenML has names of its own for some units, and its "%" is a share of 1 (RFC 8428, 12.1).
_SENML_ONLY: dict[str, Scales] = {"%": {"/": (1.0, 0.0), "%": (1.0, 0.0)}, "L": {"l": (1.0, 0.0)}}

# RFC 8798, table 2: secondary unit, the primary one, scale and offset to get there.
SECONDARY: dict[str, tuple[str, float, float]] = {
    "ms": ("s", 1 / 1000, 0.0),
    "min": ("s", 60.0, 0.0),
    "h": ("s", 3600.0, 0.0),
    "MHz": ("Hz", 1e6, 0.0),
    "kW": ("W", 1000.0, 0.0),
    "kVA": ("VA", 1000.0, 0.0),
    "kvar": ("var", 1000.0, 0.0),
    "Ah": ("C", 3600.0, 0.0),
    "Wh": ("J", 3600.0, 0.0),
    "kWh": ("J", 3_600_000.0, 0.0),
    "varh": ("vars", 3600.0, 0.0),
    "kvarh": ("vars", 3_600_000.0, 0.0),
    "kVAh": ("VAs", 3_600_000.0, 0.0),
    "Wh/km": ("J/m", 3.6, 0.0),
    "KiB": ("B", 1024.0, 0.0),
    "GB": ("B", 1e9, 0.0),
    "Mbit/s": ("bit/s", 1e6, 0.0),
    "B/s": ("bit/s", 8.0, 0.0),
    "MB/s": ("bit/s", 8e6, 0.0),
    "mV": ("V", 1 / 1000, 0.0),
    "mA": ("A", 1 / 1000, 0.0),
    "dBm": ("dBW", 1.0, -30.0),
    "ug/m3": ("kg/m3", 1e-9, 0.0),
    "mm/h": ("m/s", 1 / 3_600_000, 0.0),
    "m/h": ("m/s", 1 / 3600, 0.0),
    "ppm": ("/", 1e-6, 0.0),
    "/100": ("/", 1 / 100, 0.0),
    "/1000": ("/", 1 / 1000, 0.0),
    "hPa": ("Pa", 100.0, 0.0),
    "mm": ("m", 1 / 1000, 0.0),
    "cm": ("m", 1 / 100, 0.0),
    "km": ("m", 1000.0, 0.0),
    "km/h": ("m/s", 1 / 3.6, 0.0),
}


def in_senml(scales: Mapping[str, Scale]) -> Scales:
    """Return the same scales under the names that SenML has for units, secondary ones too.

    Parameters
    ----------
    scales
        By the unit in any other message.
    """
    known = dict(scales)
    for ours, names in _SENML_ONLY.items():
        if ours in scales:
            known.update(names)
    summed = {
        f"{name}{SUMMED}": (f"{primary}{SUMMED}", factor, offset)
        for name, (primary, factor, offset) in SECONDARY.items()
    }
    for name, (primary, factor, offset) in {**SECONDARY, **summed}.items():
        if primary in known and name not in known:
            scale, shift = known[primary]
            known[name] = (factor * scale, offset * scale + shift)
    return known


def scaled(sensor: Sensor, scales: Scales, usual: str) -> Callable[[float, str | None], float]:
    """Return the function that applies a unit: the message's, else the sensor's, else the usual.

    Parameters
    ----------
    sensor
        The sensor.
    scales
        What it may be read in.
    usual
        The unit where nothing is said of it.

    Returns
    -------
    callable
        Takes a value and the unit in the message, or None; raises MessageRefusedError for a unit
        that is not among ``scales``.
    """
    known = in_senml(scales) if sensor.payload == "senml" else scales
    # Where the message says nothing, the garden file does, and its units are ours.
    declared = sensor.unit or usual

    def scale(value: float, unit: str | None) -> float:
        found = scales.get(declared) if unit is None else known.get(unit)
        if found is None:
            raise MessageRefusedError(
                f"the unit is {unit or declared!r}; {sensor.name!r} is read in {', '.join(scales)}"
            )
        return value * found[0] + found[1]

    return scale
