"""The pace of a virtual board, by a clock that is handed in: `make bench` has a real one's."""

import pytest

from rillkeeper.board.virtual.paced_board import LATE_S, PacedBoard

CLOCK = (20643, 43200, True)


class Wall:
    """A clock on the wall, and a terminal at which time passes while it waits."""

    def __init__(self) -> None:
        self.now_s = 1000.0
        self.attached = False
        self.typed_at_s: list[float] = []
        """When somebody types."""
        self.lost = 0

    def lose(self) -> None:
        """What was said is lost."""
        self.lost += 1

    def carry(self, timeout_s: float) -> bool:
        """Wait, but no longer than until somebody types."""
        end_s = self.now_s + timeout_s
        if self.typed_at_s and self.typed_at_s[0] <= end_s:
            self.now_s = max(self.now_s, self.typed_at_s.pop(0))
            self.attached = True
            return True
        self.now_s = end_s
        return False


class Stepped:
    """A board that notes when each tick came, and may take its time over one."""

    def __init__(self, wall: Wall) -> None:
        self.wall = wall
        self.came_s: dict[int, float] = {}
        self.takes_s: dict[int, float] = {}
        self.at_prompt = False
        self.usb_power = False
        self.nap = 1

    def step(self, n: int, clock: tuple[int, int, bool], counts: list[int]) -> int:
        self.came_s[n] = self.wall.now_s - 1000.0
        self.wall.now_s += self.takes_s.get(n, 0.0)
        return n % 2

    def nap_ticks(self) -> int:
        return self.nap

    def dark(self, n: int) -> int:
        self.came_s[n] = self.wall.now_s - 1000.0
        return 10**9


class Run:
    """Ticks of a paced board; ``came_s`` says when each came, from the beginning."""

    def __init__(self, speed: float, ahead_ticks: int = 0) -> None:
        self.wall = Wall()
        self.board = Stepped(self.wall)
        self.ready_s: list[float] = []
        self.paced = PacedBoard(
            self.board,
            self.wall,
            speed,
            ahead_ticks,
            ready=lambda: self.ready_s.append(self.wall.now_s - 1000.0),
            clock_s=lambda: self.wall.now_s,
        )
        self.came_s = self.board.came_s

    def ticks(self, first: int, last: int, step: int = 1) -> None:
        for n in range(first, last + 1, step):
            assert self.paced.step(n, CLOCK, []) == n % 2


@pytest.mark.parametrize("speed", [0.1, 1.0, 20.0, 3600.0])
def test_ten_ticks_are_a_second_of_its_own(speed: float) -> None:
    run = Run(speed)
    run.ticks(0, 40)
    run.ticks(50, 90, 10)  # As a napping board is stepped.
    for n, came_s in run.came_s.items():
        assert came_s == pytest.approx(n / 10.0 / speed)


def test_the_first_hours_are_hurried_through() -> None:
    run = Run(1.0, ahead_ticks=1000)
    run.ticks(0, 1010)
    assert {run.came_s[n] for n in range(1001)} == {0.0}
    assert run.came_s[1010] == pytest.approx(1.0)


@pytest.mark.parametrize("ahead_ticks", [0, 25])
def test_it_is_ready_once_at_the_first_tick_that_keeps_the_pace(ahead_ticks: int) -> None:
    run = Run(1.0, ahead_ticks)
    run.board.takes_s = {0: 0.2, ahead_ticks: 0.3}
    run.ticks(0, ahead_ticks - 1)
    assert run.ready_s == []
    run.ticks(ahead_ticks, ahead_ticks + 20)
    assert run.ready_s == [pytest.approx(run.came_s[ahead_ticks] + 0.3)]


def test_a_little_late_is_made_good() -> None:
    run = Run(1.0)
    run.board.takes_s = {10: 0.1 + 0.9 * LATE_S}
    run.ticks(0, 30)
    assert run.came_s[11] == pytest.approx(1.1 + 0.9 * LATE_S)
    assert run.came_s[30] == pytest.approx(3.0)


def test_much_too_late_is_not() -> None:
    """A machine that was asleep for an hour does not hurry through one."""
    run = Run(1.0)
    run.board.takes_s = {10: 3600.1}
    run.ticks(0, 30)
    assert run.came_s[11] == pytest.approx(3601.1)
    assert run.came_s[30] == pytest.approx(3603.0)


@pytest.mark.parametrize(("speed", "at_the_prompt"), [(20.0, 1.0), (0.5, 0.5)])
def test_at_the_prompt_time_goes_no_faster_than_a_persons(
    speed: float, at_the_prompt: float
) -> None:
    run = Run(speed)
    run.ticks(0, 10)
    run.board.at_prompt = True
    run.ticks(11, 50)
    run.board.at_prompt = False
    run.ticks(51, 90)
    assert run.came_s[50] - run.came_s[11] == pytest.approx(3.9 / at_the_prompt)
    assert run.came_s[90] - run.came_s[51] == pytest.approx(3.9 / speed)


@pytest.mark.parametrize(("speed", "ticks"), [(0.1, 1), (20.0, 10), (60.0, 30)])
def test_whoever_begins_to_talk_waits_a_twentieth_of_a_second(speed: float, ticks: int) -> None:
    run = Run(speed)
    run.board.nap = 600
    assert run.paced.nap_ticks() == ticks
    run.board.nap = 0
    assert run.paced.nap_ticks() == 0


def test_without_power_the_time_goes_on_at_its_pace() -> None:
    """It used to run on to the end at once, as a replay does whose battery is away."""
    run = Run(20.0)
    run.ticks(0, 10)
    n = 11
    while n < 300:
        ticks = run.paced.dark(n)
        assert ticks == 10, "a twentieth of a second, and somebody may talk"
        assert run.wall.lost, "and nobody answers"
        n += ticks
    run.ticks(n, n + 10)
    for at, came_s in run.came_s.items():
        assert came_s == pytest.approx(at / 10.0 / 20.0)


def test_who_types_is_attached_at_once() -> None:
    run = Run(1.0)
    run.ticks(0, 3)
    assert not run.board.usb_power
    run.wall.typed_at_s = [1000.35]
    run.ticks(4, 4)
    assert run.board.usb_power
    assert run.came_s[4] == pytest.approx(0.4), "and the tick comes in its time"
    run.wall.attached = False
    run.ticks(5, 5)
    assert not run.board.usb_power


def test_what_it_writes_is_told_soon_after_the_pump_starts_or_stops() -> None:
    """A look at the log starts an interpreter: it is not taken at every tick."""
    run = Run(10.0)
    told: list[list[str]] = []
    lines = ["0 boot"]
    looks: list[float] = []

    class Quiet(Stepped):
        @property
        def log(self) -> list[str]:
            looks.append(self.wall.now_s)
            return list(lines)

        def step(self, n: int, clock: tuple[int, int, bool], counts: list[int]) -> int:
            super().step(n, clock, counts)
            return int(500 <= n < 900)

    board = Quiet(run.wall)
    paced = PacedBoard(board, run.wall, 10.0, wrote=told.append, clock_s=lambda: run.wall.now_s)
    for n in range(1500):
        if n == 500:
            lines.append("1 start")
        if n == 900:
            lines.append("2 stop")
        paced.step(n, CLOCK, [])
    assert [line for one in told for line in one] == ["0 boot", "1 start", "2 stop"]
    starts, stops = board.came_s[500] + 1000.0, board.came_s[900] + 1000.0
    assert any(starts < at <= starts + 1.5 for at in looks)
    assert any(stops < at <= stops + 1.5 for at in looks)
    assert len(looks) <= 6
