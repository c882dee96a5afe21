"""Daily records as national weather services write them: what is read, and what is refused."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pytest

from steepwell.errors import WeatherRecordError
from steepwell.outlook.record import read_record, record_remarks

if TYPE_CHECKING:
    from pathlib import Path

# Invented rows in shapes that such files have, from memory: a table of all that is in them, the
# same two days in each. 12 July brought 4.2 mm, 11.4 to 23.7 °C; 13 July nothing, 9.0 to 25.1 °C.
TENTHS_WITH_NOTES = """\
# Station 999: a place that is not.
# RH = rain of the day (in 0.1 mm; -1 for less than 0.05)
# STN,YYYYMMDD,   TG,   TN,   TX,   RH
  999,19990712,  176,  114,  237,   42
  999,19990713,  170,   90,  251,   -1
"""
CODES_AND_FLAGS = """\
STATIONS_ID;MESS_DATUM;QN_4; RSK;RSKF; TMK; TXK; TNK;eor
      99999;19990712;   3;   4.2;   6;  17.6;  23.7;  11.4;eor
      99999;19990713;   3;   0.0;   6;  17.0;  25.1;   9.0;eor
"""
YEAR_MONTH_DAY = """\
"Place","Year","Month","Day","Max Temp (\u00b0C)","Flag","Min Temp (\u00b0C)","Total Precip (mm)"
"NOWHERE","1999","07","12","23.7","","11.4","4.2"
"NOWHERE","1999","07","13","25.1","","9.0","T"
"""
DECIMAL_COMMAS = """\
fecha;nombre;prec;tmin;tmax
12/07/1999;Ningures;4,2;11,4;23,7
13/07/1999;Ningures;Ip;9,0;25,1
"""
NAMED_MONTHS = """\
Station Name: NOWHERE
Station Height: 20 M

maxtp: - Maximum Air Temperature (C)

date,ind,maxtp,ind,mintp,ind,rain,cbl
12-jul-1999,0,23.7,0,11.4,0,4.2,1010.1
13-jul-1999,0,25.1,0,9.0,0,0.0,1011.3
"""
COUNTRY_UNITS = """\
DATE,PRCP (in),TMIN (F),TMAX (F)
1999-07-12,0.1654,52.52,74.66
1999-07-13,0.0,48.2,77.18
"""
POINTS = """\
Datum|Niederschlag [mm]|Tmin [\u00b0C]|Tmax [\u00b0C]
12.07.1999|4.2|11.4|23.7
13.07.1999|0|9|25.1
"""
MONTH_FIRST = """\
Date,Precipitation,Min Temperature,Max Temperature
07/12/1999,4.2,11.4,23.7
07/13/1999,0.0,9.0,25.1
"""
WITH_A_CLOCK = """\
time,station,rr,tlmin,tlmax
1999-07-12T00:00+00:00,99,4.2,11.4,23.7
1999-07-13T00:00+00:00,99,0.0,9.0,25.1
"""
SHAPES = {
    "tenths": TENTHS_WITH_NOTES,
    "codes": CODES_AND_FLAGS,
    "year, month, day": YEAR_MONTH_DAY,
    "decimal commas": DECIMAL_COMMAS,
    "named months": NAMED_MONTHS,
    "inches": COUNTRY_UNITS,
    "points": POINTS,
    "month first": MONTH_FIRST,
    "a clock": WITH_A_CLOCK,
}


def written(folder: Path, text: str, encoding: str = "utf-8") -> Path:
    path = folder / "national.csv"
    path.write_bytes(text.encode(encoding))
    return path


@pytest.mark.parametrize("text", SHAPES.values(), ids=SHAPES)
@pytest.mark.parametrize("encoding", ["utf-8", "latin-1"])
def test_the_files_of_weather_services_are_read(tmp_path: Path, text: str, encoding: str) -> None:
    record = read_record(written(tmp_path, text, encoding))
    assert record.first == date(1999, 7, 12)
    assert record.rain_mm[:2] == pytest.approx([4.2, 0.0], abs=0.002)
    assert record.tmin_c[:2] == pytest.approx([11.4, 9.0], abs=0.002)
    assert record.tmax_c[:2] == pytest.approx([23.7, 25.1], abs=0.002)


def test_what_was_taken_for_what_is_said(tmp_path: Path) -> None:
    record = read_record(written(tmp_path, TENTHS_WITH_NOTES))
    assert record_remarks(record)[0] == (
        "The weather record is read so: days from YYYYMMDD, rain from RH, low and high from TN and "
        "TX in tenths."
    )


@pytest.mark.parametrize("code", ["", "-999", "-999.0", "-9999", "-", "NA", "NaN", "9999", "---"])
def test_a_value_that_was_not_measured_is_missing(tmp_path: Path, code: str) -> None:
    rows = [f"1999-07-{day:02d};0,2;9,5;21,5" for day in range(1, 31)]
    rows[14] = f"1999-07-15;{code};9,5;21,5"
    record = read_record(written(tmp_path, "\n".join(["fecha;prec;tmin;tmax", *rows])))
    assert np.flatnonzero(np.isnan(record.rain_mm)).tolist() == [14]


REFUSED = {
    "a column is not there": (
        "Datum;Niederschlag;Temperatur\n03.07.1999;1;2\n",
        "line 1: no column tmin_c, tmax_c; found Datum, Niederschlag, Temperatur; wanted date,",
    ),
    "neither degrees nor tenths": (
        "date,rain,tmin,tmax\n1999-07-03,0.1,52,95\n",
        "tmax goes up to 95, and its heading names no unit; write tmax_c or tmax_f",
    ),
    "a unit nobody knows": (
        "date,rain (buckets),tmin,tmax\n1999-07-03,0.1,5,9\n",
        r"rain \(buckets\) is in buckets; wanted mm",
    ),
    "day or month": (
        "date,rain,tmin,tmax\n03/07/1999,0.1,5,9\n",
        "dates like 03/07/1999, of which nobody can tell day and month",
    ),
    "damp air": (
        "date,rh,tmin,tmax\n1999-07-03,81,5,9\n1999-07-04,77,5,9\n",
        "rh has 79 mm a day on average, which is no rain",
    ),
    "two stations": (
        "station,date,prcp,tmin,tmax\n1,19990712,1,5,9\n2,19990712,2,6,9\n",
        "line 3: 19990712 a second time, after line 2",
    ),
    "words": (
        "date,prcp,tmin,tmax\n19990712,much,5,9\n",
        "line 2: cannot be read; wanted a day and numbers under date, prcp, tmin, tmax",
    ),
}


@pytest.mark.parametrize(("text", "said"), REFUSED.values(), ids=REFUSED)
def test_what_cannot_be_told_is_refused_with_what_was_found(
    tmp_path: Path, text: str, said: str
) -> None:
    with pytest.raises(WeatherRecordError, match=said):
        read_record(written(tmp_path, text))
