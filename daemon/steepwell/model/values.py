"""The kinds of number the model computes with: a float, or a whole array at once."""

from __future__ import annotations

from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
# The argument typed with this alone says what comes back; the others may be plain floats.
Values = TypeVar("Values", float, NDArray[np.float64])
