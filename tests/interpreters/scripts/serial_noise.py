"""Feeds the serial line noise, and noise made of its own words, and watches the heap.

Reads ``case.json`` (settings, bytes). Prints the heap in use after a tenth of the noise and
after all of it, and how many changes were made.
"""

import gc
import json

from device.commands import Commands
from device.files import Files
from device.flashlog import FlashLog
from device.serial import SerialLine
from device.store import TwoSlots
from device.trial import Trial
from keeper import Keeper, Settings

WORDS = (b"run 3", b"stop", b"help", b"log 0", b"status", b" #", b" ~", b"1234", b"\n", b" ")


class Part:
    """Something with the attributes that are put into it."""


class Noise:
    """The stream to read from: half of it random bytes, half of it words in disorder."""

    def __init__(self):
        self.state = 12345
        self.word = b""
        self.words = 0
        self.at = 0
        self.left = 0

    def random(self, below):
        self.state = (self.state * 1103 + 12345) & 0xFFFFF
        return (self.state >> 4) % below

    def read(self, size):
        self.left -= 1
        if self.at >= len(self.word):
            self.at = 0
            self.words += 1
            self.word = WORDS[self.random(len(WORDS))]
            # Long stretches of words alone, or no line would ever be without a byte of noise.
            if self.words & 512 and self.random(2):
                self.word = bytes([self.random(256), self.random(256), self.random(128)])
        self.at += 1
        return self.word[self.at - 1 : self.at]

    def readable(self):
        return self.left > 0

    def writable(self):
        return True

    def write(self, data):
        return len(data)


class Counting(Commands):
    """Counts the answers, and the changes that would be made."""

    made = answers = 0

    def answer(self, line):
        Counting.answers += 1
        return Commands.answer(self, line)

    def _change(self, text):
        said = Commands._change(self, text)
        Counting.made += said.startswith("ok")
        return said


def board_of(settings):
    board = Part()
    board.keeper = Keeper(settings)
    board.relay = Part()
    board.relay.level = board.relay.failed = 0
    board.relay.timer = "hard"
    board.trouble = ""
    board.inputs = Part()
    board.inputs.load_on = board.inputs.contacts = 0
    board.log = FlashLog(Files(""))
    board.settings_slots = TwoSlots(Files(""), "settings")
    board.slow_ms = 0
    board.trial = Trial()
    return board


def main():
    with open("case.json") as file:
        case = json.load(file)
    board = board_of(Settings(case["settings"]))
    noise = Noise()
    commands = Counting(board)
    line = SerialLine(noise, noise, noise, commands.answer, 64)
    board.serial = line
    used = []
    for share in (1, 9):
        noise.left = case["bytes"] * share // 10
        while line.attend():
            pass
        line.busy = False
        gc.collect()
        used.append(gc.mem_alloc())
    told = {"left": noise.left, "used": used, "made": Counting.made}
    told["passed_over"] = line.passed_over
    told["answers"] = Counting.answers
    print(json.dumps(told))


main()
