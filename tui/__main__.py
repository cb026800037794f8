"""``python -m tui`` is the same as ``sumpgate``."""

import sys

from tui.cli.main import main

sys.exit(main())
