"""``python -m passagework`` is the command ``passagework``."""

import sys

from passagework.cli import main

sys.exit(main())
