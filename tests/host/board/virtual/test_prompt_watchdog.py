"""How long an armed watchdog leaves a virtual board at its prompt, in ticks of its own."""

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from rillkeeper.board.virtual.pseudo_terminal import CTRL_C, Terminal
from rillsim.boards.virtualboard import DOG_MS, VirtualBoard
from tests.device.desk import NOON, QUIET
from tests.interpreters import rigs
from tests.interpreters.board import BOARD
from tests.patience import until


@pytest.mark.interpreter
def test_a_prompt_lasts_as_long_as_the_watchdog(
    need: Callable[[str], Path], tmp_path: Path
) -> None:
    with (
        Terminal() as terminal,
        VirtualBoard(
            need("micropython"),
            rigs.FIRMWARE,
            tmp_path,
            BOARD,
            serial=terminal.board_end,
            console=terminal,
        ) as board,
    ):
        ticks = 0

        def step() -> None:
            nonlocal ticks
            terminal.carry(0.0)
            board.step(ticks, (*NOON, True), QUIET)
            ticks += 1

        def is_at_prompt() -> bool:
            step()
            return board.at_prompt

        for _ in range(20):
            step()
        host = os.open(terminal.path, os.O_RDWR | os.O_NOCTTY)
        os.write(host, CTRL_C)
        until(is_at_prompt)
        for _ in range(DOG_MS // 100 - 1):
            step()
            assert board.restarts == 0
        step()
        os.close(host)
        assert (board.restarts, board.at_prompt) == (1, False)
