"""`python -m triage` is the command `lotwright`."""

from triage.cli import main

main()
