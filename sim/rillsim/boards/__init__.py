"""Boards for the replay, and what stands between a board and the plant."""
