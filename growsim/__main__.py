"""`python -m growsim`."""

import sys

from growsim.cli import main

if __name__ == "__main__":
    sys.exit(main())
