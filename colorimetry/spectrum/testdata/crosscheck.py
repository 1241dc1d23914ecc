"""Makes pchip.csv, cct_random.csv and dominant.csv beside this file, with Debian's
python3-numpy and python3-scipy: run it here as /usr/bin/python3 crosscheck.py.
The figures are random but seeded; every method is a general one of SciPy, not
ours: its PCHIP class, its one-dimensional minimiser, its root finder.
"""
import csv
import numpy as np
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq, minimize_scalar

rng = np.random.default_rng(4)
rows = [r for r in csv.reader(open("../data/cie1931.csv")) if not r[0].startswith("#")]
cmf = np.array([[float(v) for v in r] for r in rows[1:]])
nm, bars = cmf[:, 0], cmf[:, 1:]


def write(name, source, head, table):
    with open(name, "w", newline="\n") as f:
        f.write("# %s Source: SciPy, by crosscheck.py beside it.\n%s\n" % (source, head))
        for r in table:
            f.write(",".join("%.14g" % v for v in r) + "\n")


# PCHIP through eight samples at unequal steps.
table = []
for _ in range(500):
    x = 400 + np.cumsum(np.round(rng.uniform(1, 20, 8), 2))
    y = np.round(rng.choice([rng.normal(0, 1, 8), np.sort(rng.uniform(0, 1, 8)), rng.integers(0, 3, 8)]), 4)
    at = round(rng.uniform(x[0], x[-1]), 3)
    table.append([*x, *y, at, PchipInterpolator(x, y)(at)])
write("pchip.csv", "Values at nm of PCHIP through samples at x0 to x7.",
      ",".join("x%d" % i for i in range(8)) + "," + ",".join("y%d" % i for i in range(8)) + ",nm,value", table)


# Correlated colour temperature by minimising the distance in u, v (1960).
def uv(mired):
    e = (nm / 560) ** -5.0 / np.expm1(1.4388e7 / nm * mired / 1e6)
    X, Y, Z = e @ bars
    return np.array([4 * X, 6 * Y]) / (X + 15 * Y + 3 * Z)


table = []
while len(table) < 500:
    m = rng.uniform(50, 1000)
    d = rng.uniform(-0.03, 0.03) if m > 150 else rng.uniform(-0.01, 0.03)
    p, q = uv(m - 0.01), uv(m + 0.01)
    t = (q - p) / np.hypot(*(q - p))
    u, v = uv(m) + d * np.array([-t[1], t[0]])
    x, y = 3 * u / (2 * u - 8 * v + 4), 2 * v / (2 * u - 8 * v + 4)
    if not (x > 0 and y > 0 and x + y < 1):
        continue
    x, y = float("%.12f" % x), float("%.12f" % y)
    n = -2 * x + 12 * y + 3
    at = np.array([4 * x / n, 6 * y / n])

    def square(mm):
        return np.sum((uv(mm) - at) ** 2)

    # The root of the derivative, since a minimum alone is good to 1e-8 only.
    near = minimize_scalar(square, bounds=(m - 3, m + 3), method="bounded").x
    h = 1e-3
    root = brentq(lambda mm: square(mm + h) - square(mm - h), near - 1, near + 1, xtol=1e-10)
    side = np.cross(uv(root + h) - uv(root - h), at - uv(root))
    table.append([x, y, 1e6 / root, np.sign(side) * np.sqrt(square(root))])
write("cct_random.csv", "Correlated colour temperatures and Duv of chromaticities, c2 = 1.4388e-2 m K, CIE 1931 observer 360-830 nm at 1 nm.",
      "x,y,kelvin,duv", table)

# Dominant wavelength: the wavelength at which the direction from the white to
# the locus, a mixture of the two nearest whole nm, is that of the colour.
lo, hi = 20, 340  # 380 and 700 nm


def locus(w):
    i = min(int(w - 360), hi - 1)
    e = bars[i] + (w - 360 - i) * (bars[i + 1] - bars[i])
    return e[:2] / e.sum()


table = []
edge = np.array([bars[i][:2] / bars[i].sum() for i in range(lo, hi + 1)])
while len(table) < 500:
    white = np.round(rng.uniform(0.28, 0.40, 2), 4)
    c = np.round(rng.uniform(0.05, 0.7, 2), 5)
    d = c - white
    if np.hypot(*d) < 0.01 or c.sum() > 0.99:
        continue

    def turn(w, sign=1):
        p = locus(w) - white
        return d[0] * p[1] - d[1] * p[0]

    found = []
    for i in range(380, 700):
        a, b = turn(i), turn(i + 1)
        if a == 0 or a * b < 0:
            w = brentq(turn, i, i + 1, xtol=1e-12, rtol=1e-14)
            found.append((w, np.dot(locus(w) - white, d)))
    ahead = [f for f in found if f[1] > 0]
    if ahead:
        w, _ = max(ahead, key=lambda f: f[1])
        table.append([*white, *c, w, 0, np.hypot(*d) / np.hypot(*(locus(w) - white))])
        continue
    w, _ = min(found, key=lambda f: f[1])
    a, b = edge[0], edge[-1]
    s = np.linalg.solve(np.array([d, a - b]).T, a - white)[0]
    table.append([*white, *c, w, 1, 1 / s])
write("dominant.csv", "Dominant wavelengths (complementary 1: of the complementary light) and excitation purities, CIE 1931 observer at 1 nm, outline 380 to 700 nm.",
      "xw,yw,x,y,nm,complementary,purity", table)
