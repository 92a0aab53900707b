"""The arrays that numbers come in."""

import numpy as np
from numpy.typing import NDArray

type Floats = NDArray[np.float64]
type Ints = NDArray[np.intp]
type Flags = NDArray[np.bool_]
type Keys = NDArray[np.str_]
