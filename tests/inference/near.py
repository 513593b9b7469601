"""How close two results must be to count as equal."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


def close(found: object, expected: object, tolerance: float = 1e-9) -> None:
    """Assert that arrays agree to the tolerance, absolute or relative, whichever is larger."""
    np.testing.assert_allclose(
        np.asarray(found, float), np.asarray(expected, float), rtol=tolerance, atol=tolerance
    )


def proportional(found: float, expected: float, tolerance: float = 1e-9) -> None:
    """Assert that two positive numbers agree to the relative tolerance."""
    assert abs(found / expected - 1) <= tolerance
