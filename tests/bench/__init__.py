"""Speed and accuracy beside other engines, measured in one run: ``python -m tests.bench``."""
