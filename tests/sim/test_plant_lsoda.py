"""One pump hour against scipy's LSODA on the same equations (ODEPACK, Hindmarsh 1983)."""

from dataclasses import replace

import numpy as np
import pytest

from rillsim.site import Site
from tests.sim.equations import lsoda_course, plant_course


@pytest.mark.parametrize("nozzle_bore_m", [0.0045, 0.0035])
def test_a_pump_hour_agrees_with_lsoda(nozzle_bore_m: float) -> None:
    site = replace(Site(), sprinkler=replace(Site().sprinkler, nozzle_bore_m=nozzle_bore_m))
    exact = lsoda_course(site)
    plant = plant_course(site)
    off = np.abs(plant.pressure_pa / exact.pressure_pa - 1.0)
    assert off[10:].max() < 0.005
    assert off[1:].max() < 0.03
    assert plant.charge_ah == pytest.approx(exact.charge_ah, rel=1e-3)
    assert plant.sprinkled_m3 == pytest.approx(exact.sprinkled_m3, rel=1e-3)
