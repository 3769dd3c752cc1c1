"""Means over a minute of running, for the log."""

MINUTE_S = 60


class Tally:
    """Sums of one-second samples; the means are read when a minute is full."""

    def __init__(self) -> None:
        self.seconds = 0
        self.pressure_sum_pa = 0
        self.battery_sum_mv = 0
        self.current_sum_ma = 0
        self.flow_sum_ml_min = 0

    def clear(self) -> None:
        """Begin another minute."""
        self.seconds = 0
        self.pressure_sum_pa = 0
        self.battery_sum_mv = 0
        self.current_sum_ma = 0
        self.flow_sum_ml_min = 0

    def add(self, pressure_pa: int, battery_mv: int, current_ma: int, flow_ml_min: int) -> bool:
        """Take one second; True when the minute is full."""
        self.seconds += 1
        self.pressure_sum_pa += pressure_pa
        self.battery_sum_mv += battery_mv
        self.current_sum_ma += current_ma
        self.flow_sum_ml_min += flow_ml_min
        return self.seconds >= MINUTE_S
