"""What the heap lock must catch, and what it must let pass: one word for each."""

from micropython import heap_lock, heap_unlock


class Box:
    number = 300000


def integer(box):
    box.number = box.number + 1


def beyond_31_bits(box):
    return (box.number * box.number) >> 12


def a_list(box):
    return [box.number]


def a_float(box):
    return box.number / 3


def verdict(work, box):
    work(box)
    heap_lock()
    try:
        work(box)
    except MemoryError:
        return "allocates"
    finally:
        heap_unlock()
    return "free"


for work in (integer, beyond_31_bits, a_list, a_float):
    print(verdict(work, Box()))
