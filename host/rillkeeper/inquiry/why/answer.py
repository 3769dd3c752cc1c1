"""All that table, page and JSON show: the diagnosis with site, log and what could not be read."""

from dataclasses import dataclass

from rillkeeper.display_units import Shown, counted
from rillkeeper.inquiry.why.diagnosis import NIGHTS_MAX, Diagnosis
from rillkeeper.runlog.lines import RunLog
from rillsim.site import Site


@dataclass(frozen=True)
class Account:
    """One answer to `rillkeeper why`."""

    site: Site
    diagnosis: Diagnosis
    log: RunLog
    shown: Shown

    @property
    def notes(self) -> list[str]:
        """What limits the answer."""
        board = self.site.board
        found = []
        if not board.pressure_fitted:
            found.append(
                "Without a pressure transducer the water's side cannot be judged: only battery, "
                "cable and what the board itself stopped for."
            )
        if not board.battery_fitted:
            found.append("Without the battery's voltage the supply cannot be judged.")
        evidence = self.diagnosis.evidence
        nights = len({entry.night for entry in self.log.entries})
        if nights > len(evidence.nights) >= NIGHTS_MAX:
            found.append(f"The last {NIGHTS_MAX} nights of the log are judged.")
        runs = evidence.runs
        untimed = sum(run.when == "time not known" for run in runs)
        if untimed:
            found.append(
                f"The clock was lost in {counted(untimed, 'run')}; they count in the order in "
                "which they were written."
            )
        found += [gap.sentence for gap in self.log.gaps]
        if self.log.damages:
            found.append(f"{counted(len(self.log.damages), 'line')} could not be read.")
        return found
