"""python -m motion: the same as the command countfall."""

import sys

from motion.cli.main import main

if __name__ == "__main__":
    sys.exit(main())
