"""Zeros of functions: scipy's, to the last bit, without loading scipy."""

import subprocess
import sys
from collections.abc import Callable
from math import cos, exp, inf, log, nan, tanh

import pytest
from scipy.optimize import brentq

from rillsim.root import root

FUNCTIONS: dict[str, tuple[Callable[[float], float], float, float]] = {
    "a cubic": (lambda x: x**3 - 2.0 * x - 5.0, 2.0, 3.0),
    "a cosine": (lambda x: cos(x) - x, 0.0, 1.0),
    "a logarithm": (lambda x: log(x) - 1.0, 1.0, 9.0),
    "far apart": (lambda x: exp(0.01 * x) - 3.0, -900.0, 900.0),
    "a twofold zero": (lambda x: (x - 0.3) * abs(x - 0.3), 0.0, 1.0),
    "a flow against a head": (lambda q: 4e5 - 6e4 * (q / 3e-4) ** 1.75 - 2e8 * q, 0.0, 2e-3),
    "a step": (lambda x: 1.0 if x < 0.37 else -1.0, 0.0, 1.0),
    "a flat with a steep": (lambda x: tanh(1e9 * (x - 0.33333)), 0.0, 1.0),
    "beyond all bounds": (lambda x: inf if x < 0.3 else 0.35 - x, 0.0, 1.0),
    "at the low place": (lambda x: x, 0.0, 1.0),
    "at the high place": (lambda x: x - 1.0, 0.0, 1.0),
    "falling, from high to low": (lambda x: 2.0 - x * x, 2.0, 0.0),
}


@pytest.mark.parametrize("tolerance", [1e-15, 1e-12, 1e-3])
@pytest.mark.parametrize("name", FUNCTIONS)
def test_it_is_scipys_to_the_last_bit(name: str, tolerance: float) -> None:
    function, low, high = FUNCTIONS[name]
    assert root(function, low, high, tolerance) == brentq(function, low, high, xtol=tolerance)


def test_the_zero_of_a_textbook() -> None:
    """Wallis's equation, x^3 - 2 x - 5 = 0: OEIS A007493 (from memory)."""
    assert root(*FUNCTIONS["a cubic"]) == pytest.approx(2.0945514815423265, abs=2e-12)


@pytest.mark.parametrize(
    "function", [lambda x: 1.0 + x, lambda x: nan, lambda x: nan if 0.2 < x < 0.5 else x - 0.35]
)
def test_what_has_no_zero_is_refused(function: Callable[[float], float]) -> None:
    with pytest.raises(ValueError, match="signs|number"):
        root(function, 0.0, 1.0)


def test_what_never_comes_near_is_refused() -> None:
    with pytest.raises(ValueError, match="converge"):
        root(lambda x: (x - 0.4) ** 9, 0.0, 1.0)


def test_a_zero_is_found_without_scipy() -> None:
    """It takes some 0.3 s to load, in every short command."""
    code = (
        "import sys; from rillkeeper.design.limits.derive import settings_of\n"
        "from rillsim.site import Site; settings_of(Site())\n"
        "print(*[name for name in sys.modules if name.split('.')[0] == 'scipy'])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == ""
