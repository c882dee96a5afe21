"""Units of RFC 8428 and RFC 8798, and the pack that RFC 8428 prints in CBOR."""

from __future__ import annotations

import pytest

from steepwell.sense.senml import resolve
from steepwell.sense.senml_cbor import is_cbor_pack, pack_of
from steepwell.sense.units import LENGTHS, PRESSURES, SECONDARY, SHARES, VOLUMES, in_senml

# RFC 8428, section 6: the second pack of section 5.1.2 in CBOR, as its authors' ex3.gen.cbor.hex
# (core-wg/senml-spec) has it.
CURRENT = bytes.fromhex(
    "87a721781b75726e3a6465763a6f773a3130653230373361303130383030363a"
    "22fb41d303a15b00106223614120050067766f6c7461676501615602fb405e06"
    "6666666666a3006763757272656e74062402fb3ff3333333333333a300676375"
    "7272656e74062302fb3ff4cccccccccccda3006763757272656e74062202fb3f"
    "f6666666666666a3006763757272656e74062102f93e00a3006763757272656e"
    "74062002fb3ff999999999999aa3006763757272656e74060002fb3ffb333333"
    "333333"
)


def test_the_pack_of_the_standard_in_cbor_is_that_in_json() -> None:
    assert is_cbor_pack(CURRENT)
    records = resolve(pack_of(CURRENT))
    base = "urn:dev:ow:10e2073a0108006:"
    assert [(one.name, one.unit, one.value) for one in records] == [
        (f"{base}voltage", "V", 120.1),
        *((f"{base}current", "A", value) for value in (1.2, 1.3, 1.4, 1.5, 1.6, 1.7)),
    ]
    # 1276020076.001 and five seconds before it, to the millisecond.
    times_ms = [round(one.time_s * 1000) for one in records]
    assert times_ms[:3] == [1276020076001, 1276020071001, 1276020072001]


# RFC 8428, table 4: labels of CBOR, data as bytes, and texts as they are.
def test_labels_of_cbor() -> None:
    # [{-2: "a:", -4: "L", -5: 1, -6: 2, 0: "x", 5: 3}, {0: "d", 8: h'6869'}, {0: "s", 3: "low"}]
    pack = bytes.fromhex(
        "83 a6 21 62 61 3a 23 61 4c 24 01 25 02 00 61 78 05 03"
        "a2 00 61 64 08 42 68 69 a2 00 61 73 03 63 6c 6f 77"
    )
    assert [record[:4] for record in resolve(pack_of(pack))] == [
        ("a:x", "L", 1.0, 5.0),
        ("a:d", "L", b"hi", 2.0),
        ("a:s", "L", "low", 2.0),
    ]


# RFC 8798, table 2: SenML unit, scale and offset. Its own examples (section 3): 100 ms are 0.1 s,
# 10 dBm are -20 dBW.
@pytest.mark.parametrize(
    ("unit", "value", "primary", "expected"),
    [
        ("ms", 100, "s", 0.1),
        ("dBm", 10, "dBW", -20),
        ("min", 2, "s", 120),
        ("h", 2, "s", 7200),
        ("kWh", 2, "J", 7_200_000),
        ("Ah", 1, "C", 3600),
        ("Wh/km", 10, "J/m", 36),
        ("KiB", 3, "B", 3072),
        ("mV", 2910, "V", 2.91),
        ("mm/h", 3.6, "m/s", 1e-6),
        ("ppm", 5, "/", 5e-6),
        ("/100", 40, "/", 0.4),
        ("/1000", 40, "/", 0.04),
        ("hPa", 1013.25, "Pa", 101_325),
        ("mm", 412, "m", 0.412),
        ("cm", 41.2, "m", 0.412),
        ("km", 2, "m", 2000),
        ("km/h", 36, "m/s", 10),
    ],
)
def test_secondary_units(unit: str, value: float, primary: str, expected: float) -> None:
    name, scale, offset = SECONDARY[unit]
    assert name == primary
    assert value * scale + offset == pytest.approx(expected)


# RFC 8428, section 12.1: "%" is a ratio there, "l" a litre. Anywhere else "%" is a percentage.
@pytest.mark.parametrize(
    ("ours", "unit", "scale"),
    [
        (SHARES, "%", 1.0),
        (SHARES, "/", 1.0),
        (SHARES, "/100", 0.01),
        (SHARES, "/1000", 0.001),
        (VOLUMES, "l", 1.0),
        (VOLUMES, "m3", 1000.0),
        (LENGTHS, "km", 1000.0),
        (PRESSURES, "hPa", 100.0),
    ],
)
def test_units_of_senml(ours: dict[str, tuple[float, float]], unit: str, scale: float) -> None:
    assert in_senml(ours)[unit] == pytest.approx((scale, 0.0))
    assert SHARES["%"] == (0.01, 0.0)
