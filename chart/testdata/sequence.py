# Makes the sequence_*.csv beside it. Needs Debian's python3-numpy and
# python3-scipy; nothing in it is by lot. Run it in this folder.
import itertools

import numpy as np
import scipy
from scipy.stats import qmc

SOURCE = f"# SciPy {scipy.__version__} (scipy.stats.qmc); made by sequence.py\n"

# Two designs of six points on a 6 by 6 grid, as SciPy's documentation gives them
# after Fang, Li, Sudjianto, Design and modeling for computer experiments (2006),
# who print the centred discrepancies 0.0081 and 0.0105.
FANG1 = [[1, 3], [2, 6], [3, 2], [4, 5], [5, 1], [6, 4]]
FANG2 = [[1, 5], [2, 4], [3, 3], [4, 2], [5, 1], [6, 6]]


def star(points):
    """The star discrepancy by its definition: boxes end at coordinates of points."""
    axes = [np.append(np.unique(points[:, c]), 1.0) for c in range(3)]
    worst = 0.0
    for corner in itertools.product(*axes):
        share = np.prod(corner)
        inside = np.all(points < corner, axis=1).mean()
        upto = np.all(points <= corner, axis=1).mean()
        worst = max(worst, share - inside, upto - share)
    return worst


sets = {
    "sobol": qmc.Sobol(3, scramble=False).random(1024),
    "halton": qmc.Halton(3, scramble=False).random(1024),
}

with open("sequence_points.csv", "w") as f:
    f.write(SOURCE + "sequence,index,u1,u2,u3\n")
    for name, points in sets.items():
        for i, p in enumerate(points[:160]):
            f.write(f"{name},{i}," + ",".join(f"{v:.17g}" for v in p) + "\n")

with open("sequence_discrepancy.csv", "w") as f:
    f.write(SOURCE + "sequence,points,centred,star_l2,star\n")
    for name, points in sets.items():
        for n in (16, 50, 256, 1024):
            p = points[:n]
            exact = f"{star(p):.12g}" if n <= 50 else ""
            f.write(
                f"{name},{n},{qmc.discrepancy(p, method='CD'):.12g},"
                f"{qmc.discrepancy(p, method='L2-star'):.12g},{exact}\n"
            )
for name, grid, printed in (("first", FANG1, 0.0081), ("second", FANG2, 0.0105)):
    got = qmc.discrepancy((2.0 * np.array(grid) - 1) / 12, method="CD")
    assert abs(got - printed) < 5e-5, (name, got)
