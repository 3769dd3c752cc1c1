"""Single drops in the air: what sets the drift of the spray, and an upper end of its throw."""

from math import cos, radians, sin

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

AIR_KG_M3, AIR_NU_M2_S, WATER_KG_M3, GRAVITY_M_S2 = 1.2041, 1.516e-5, 998.2, 9.80665
BUOYED_M_S2 = (1.0 - AIR_KG_M3 / WATER_KG_M3) * GRAVITY_M_S2


def drop_drag(reynolds: float) -> float:
    """Drag coefficient of a rigid drop: Fukui et al. (1980), Irrigation Science 2, 23-32."""
    if reynolds <= 128.0:
        return 33.3 / reynolds - 0.0033 * reynolds + 1.2
    if reynolds <= 1440.0:
        return 72.2 / reynolds - 5.56e-5 * reynolds + 0.46
    return 0.45


def drag_per_speed(speed_m_s: float, drop_m: float) -> float:
    """Deceleration by drag, over the speed [1/s]."""
    reynolds = max(speed_m_s * drop_m / AIR_NU_M2_S, 1e-6)
    return 0.75 * AIR_KG_M3 / WATER_KG_M3 * drop_drag(reynolds) / drop_m * speed_m_s


def terminal_velocity_m_s(drop_m: float) -> float:
    """Speed at which drag equals weight less buoyancy."""
    return brentq(lambda v: drag_per_speed(v, drop_m) * v - BUOYED_M_S2, 1e-3, 30.0)


def landing_m(
    drop_m: float, speed_m_s: float, wind_m_s: float = 0.0, heading_rad: float = 0.0
) -> np.ndarray:
    """Where a drop lands that leaves along x, 25 degrees up and 1 m high, in a level wind."""
    wind = np.array([wind_m_s * cos(heading_rad), wind_m_s * sin(heading_rad), 0.0])
    weight = np.array([0.0, 0.0, BUOYED_M_S2])

    def rate(_: float, state: np.ndarray) -> np.ndarray:
        through = state[3:] - wind
        drag = drag_per_speed(float(np.linalg.norm(through)), drop_m)
        return np.concatenate([state[3:], -drag * through - weight])

    def ground(_: float, state: np.ndarray) -> float:
        return float(state[2])

    ground.terminal = True  # type: ignore[attr-defined]
    ground.direction = -1.0  # type: ignore[attr-defined]
    up = radians(25.0)
    start = [0.0, 0.0, 1.0, speed_m_s * cos(up), 0.0, speed_m_s * sin(up)]
    flight = solve_ivp(rate, (0.0, 20.0), start, events=ground, rtol=1e-7, atol=1e-8)
    return np.asarray(flight.y[:2, -1])
