"""Take the pictures of the hand-book anew: `python -m tests.browser.pictures`."""

import sys

import pytest

if __name__ == "__main__":
    sys.exit(pytest.main(["-q", "-n", "0", "--take-pictures", "tests/browser/test_how_to.py"]))
