"""A studio to look around in: invented students, the demo's pieces, and takes that the simulated player made.

`make_demo_studio(folder, today)` (in `make`) fills an empty folder once; ``python -m passagework.web.demo_studio DIR`` does so
from outside. Nobody in it exists; the reports, skills and plans in it are computed as they are for everybody else.
"""
