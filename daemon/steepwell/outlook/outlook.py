"""State now and the weather record become an outlook."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from steepwell.errors import WeatherRecordError
from steepwell.outlook.conditioning import condition
from steepwell.outlook.demand import bed_days
from steepwell.outlook.draws import Draws, uncertain
from steepwell.outlook.et0 import hargreaves_bias
from steepwell.outlook.futures import Futures, run_futures
from steepwell.outlook.persistence import carry_warmth_on
from steepwell.outlook.summary import outlook_document
from steepwell.outlook.weather import future_weather

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell.outlook.demand import BedDays
    from steepwell.outlook.record import Record
    from steepwell.outlook.state import State
    from steepwell.outlook.weather import Weather
    from steepwell.sense.forecast import ForecastDays
    from steepwell.store.entries import Entry

HORIZON_D = 120
MEMBERS = 500


@dataclass(frozen=True, slots=True)
class Outlook:
    """An outlook: the document for everybody, the members it sums up, and what they come from."""

    document: dict[str, Any]
    futures: Futures
    weather: Weather
    asked: BedDays
    draws: Draws


def make_outlook(
    garden: Garden,
    state: State,
    record: Record,
    entries: list[Entry],
    *,
    seed: int,
    forecast: ForecastDays | None = None,
    days: int = HORIZON_D,
    members: int = MEMBERS,
) -> Outlook:
    """Forecast water, beds and vessels.

    Parameters
    ----------
    garden
        The garden.
    state
        What is so now.
    record
        The weather record, or the normals, that members come from.
    entries
        The journal, for what was planted and cleared.
    seed
        Equal seeds give equal outlooks.
    forecast
        A short-range forecast for the first days, if there is one.
    days
        Horizon [d].
    members
        Size of the ensemble.

    Returns
    -------
    Outlook
        The document and its members.

    Raises
    ------
    WeatherRecordError
        If the record is too short and has no normals, or the beds cannot be estimated.
    """
    if garden.bed and not state.beds:
        raise WeatherRecordError(
            "the weather of the last months is known neither from a probe nor from the record, "
            "so the beds cannot be estimated; fill the gaps of the record"
        )
    weather = future_weather(garden, record, state.today, days, members, seed=seed)
    if state.warmer_c is not None:
        weather = carry_warmth_on(weather, record, state.today, state.warmer_c)
    if forecast is not None:
        latitude_deg = garden.garden.latitude
        weather = condition(
            weather,
            forecast,
            state.today,
            latitude_deg=latitude_deg,
            bias=hargreaves_bias(record, latitude_deg),
            seed=seed,
        )
    asked = bed_days(garden, state.today, days, entries)
    draws = uncertain(garden, state, members, seed=seed)
    futures = run_futures(garden, state, weather, asked, draws)
    document = outlook_document(garden, state, futures)
    return Outlook(document, futures, weather, asked, draws)
