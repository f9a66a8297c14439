"""`python -m bayflow`."""

from bayflow.cli import main

raise SystemExit(main())
