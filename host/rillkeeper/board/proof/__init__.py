"""The guided proof: each protection provoked on purpose, measured by the board, and kept."""
