"""Quantiles over the members of an ensemble, by the names they have in documents."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

QUANTILES = {"p05": 0.05, "p10": 0.1, "p25": 0.25, "p50": 0.5, "p75": 0.75, "p90": 0.9, "p95": 0.95}

Array = NDArray[np.float64]


def quantiles(values: Array, names: tuple[str, ...]) -> dict[str, Array]:
    """Return quantiles over members, the last axis.

    Parameters
    ----------
    values
        Any figures; members are the last axis.
    names
        Names of ``QUANTILES``.

    Returns
    -------
    dict
        By name, with straight lines between one member and the next.
    """
    ordered = np.sort(values, axis=-1)
    at = np.array([QUANTILES[name] for name in names]) * (values.shape[-1] - 1)
    below, above = np.floor(at).astype(int), np.ceil(at).astype(int)
    found = ordered[..., below] + (ordered[..., above] - ordered[..., below]) * (at - below)
    return dict(zip(names, found.T, strict=True))
