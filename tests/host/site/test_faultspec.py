"""Faults on the command line."""

import pytest

from rillkeeper.commands.fault_option import parse_fault
from rillkeeper.errors import UsageMistake
from rillsim.site import FaultSpec


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("outlet_shut@3+20min:1.0", FaultSpec("outlet_shut", 3, 1200.0, 1.0)),
        ("outlet_shut@3+20 min:0.25", FaultSpec("outlet_shut", 3, 1200.0, 0.25)),
        ("rain@2-6h", FaultSpec("rain", 2, -21600.0, 1.0)),
        ("frost@1", FaultSpec("frost", 1, 0.0, 1.0)),
        ("frost@1:0.5", FaultSpec("frost", 1, 0.0, 0.5)),
        (" air_leak@7+90s ", FaultSpec("air_leak", 7, 90.0, 1.0)),
        ("nozzle_worn@2:0.8/5d", FaultSpec("nozzle_worn", 2, 0.0, 0.8, grows_s=432000.0)),
        ("nozzle_worn@2-1h/36 h", FaultSpec("nozzle_worn", 2, -3600.0, grows_s=129600.0)),
        ("pressure_offset@1:-0.5", FaultSpec("pressure_offset", 1, 0.0, -0.5)),
    ],
)
def test_reads(text: str, expected: FaultSpec) -> None:
    assert parse_fault(text) == expected


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("outlet_shutt@3+20min", "nearest: outlet_shut"),
        ("Outlet shut@3", "nearest: outlet_shut"),
        ("quagmire@3", "known: "),
        ("outlet_shut", "NAME@NIGHT+OFFSET"),
        ("", "NAME@NIGHT+OFFSET"),
        ("outlet_shut@x+20min", "NAME@NIGHT+OFFSET"),
        ("outlet_shut@0+20min", "night = 0"),
        ("outlet_shut@999999", "too large"),
        ("outlet_shut@3+20", "the unit is missing"),
        ("outlet_shut@3+20mm", "a length, where a time belongs"),
        ("outlet_shut@3+9000h", "too large"),
        ("outlet_shut@3+20min:2", "-1 to 1"),
        ("outlet_shut@3+20min:-1", "only one direction"),
        ("outlet_shut@3+20min:nan", "not a number"),
        ("outlet_shut@3+20min:bad", 'severity "bad"'),
        ("strainer_blocking@2:0.8/5", "the unit is missing"),
        ("strainer_blocking@2:0.8/", "NAME@NIGHT+OFFSET"),
        ("strainer_blocking@2:0.8/-5d", "negative"),
    ],
)
def test_refuses_in_one_line(text: str, says: str) -> None:
    with pytest.raises(UsageMistake) as caught:
        parse_fault(text)
    assert caught.value.exit_code == 2
    assert says in str(caught.value)
    assert "\n" not in str(caught.value)
