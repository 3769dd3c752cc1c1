"""Putting the firmware on a board: what goes there, what is there, copying, switching over.

The order is what keeps a board from ever running a mixture. All that differs is copied beside
the old firmware and checked there; a cut until then leaves the old firmware whole. Then a main.py
that only says so takes the place of the old one, the files are moved to their places, the list
of them follows, and the new main.py comes last. Each move is one step of the file system.
"""
