# Makes the crosscheck_*.csv beside it. Needs Debian's python3-numpy,
# python3-scipy, python3-shapely and python3-colorspacious; seeded.
import numpy as np
from colorspacious import CIECAM02Space, CAM02UCS, cspace_convert
from numpy.polynomial.legendre import leggauss
from scipy.optimize import minimize
from shapely.geometry import Polygon

rng = np.random.default_rng(20251125)
WHITE = np.array([0.95047, 1.0, 1.08883])
PRIMARIES = {
    "sRGB": [(0.64, 0.33), (0.30, 0.60), (0.15, 0.06)],
    "Adobe RGB": [(0.64, 0.33), (0.21, 0.71), (0.15, 0.06)],
    "P3": [(0.68, 0.32), (0.265, 0.69), (0.15, 0.06)],
    "BT.2020": [(0.708, 0.292), (0.170, 0.797), (0.131, 0.046)],
}


def write(name, source, header, rows):
    with open(name, "w") as f:
        f.write("# " + source + "; made by crosscheck.py\n" + header + "\n")
        f.writelines(",".join(r) + "\n" for r in rows)


def matrix(name):
    p = np.array([[x / y, 1, (1 - x - y) / y] for x, y in PRIMARIES[name]]).T
    return p * np.linalg.solve(p, WHITE)


LAB = {"name": "CIELab", "XYZ100_w": tuple(100 * WHITE)}
VIEW = CIECAM02Space(XYZ100_w=tuple(100 * WHITE), Y_b=20, L_A=64 / np.pi / 5)
UCS = {"name": "J'a'b'", "ciecam02_space": VIEW, "luoetal2006_space": CAM02UCS}


def lab(xyz):
    return cspace_convert(100 * xyz, "XYZ100", LAB)


def ucs(xyz):
    return cspace_convert(100 * xyz, "XYZ100", UCS)


# Overlaps of outlines that are star-shaped about a point, not convex as a rule.
def outline(n):
    a = np.sort(rng.uniform(0, 2 * np.pi, n))
    r = rng.uniform(0.1, 0.5, n)
    c = rng.uniform(0.3, 0.7, 2)
    return np.round(np.c_[c[0] + r * np.cos(a), c[1] + r * np.sin(a)], 4)


rows = []
while len(rows) < 600:
    p, q = outline(rng.integers(3, 9)), outline(rng.integers(3, 9))
    a, b = Polygon(p), Polygon(q)
    if not (a.is_valid and b.is_valid):
        continue
    text = [" ".join("%g" % v for v in o.ravel()) for o in (p, q)]
    rows.append(text + ["%.12g" % v for v in (a.area, b.area, a.intersection(b).area, a.union(b).convex_hull.area)])
write("crosscheck_outlines.csv", "shapely 1.8", "p,q,area_p,area_q,overlap,hull", rows)

# The nearest colour of sRGB in CIELAB: the distance, least over the signal cube.
m = matrix("sRGB")
rows = []
corners = np.array(np.meshgrid(*[np.linspace(0, 1, 7)] * 3)).reshape(3, -1).T


def place(t):
    return lab((m @ (np.asarray(t).T ** 3)).T)


grid = place(corners)
while len(rows) < 600:
    c = np.array([rng.uniform(0, 100), rng.uniform(-130, 130), rng.uniform(-130, 130)])
    linear = np.linalg.solve(m, cspace_convert(c, LAB, "XYZ100") / 100)
    inside = bool((linear >= 0).all() and (linear <= 1).all())
    if inside:
        d = 0.0
    else:
        best = []
        for i in np.argsort(((grid - c) ** 2).sum(1))[:4]:
            r = minimize(lambda t: ((place(t) - c) ** 2).sum(), corners[i], method="L-BFGS-B", bounds=[(0, 1)] * 3,
                         options={"ftol": 1e-14, "gtol": 1e-9})
            best.append(r.fun)
        d = np.sqrt(min(best))
    rows.append(["%.17g" % v for v in c] + [str(int(inside)), "%.6f" % d])
write("crosscheck_nearest.csv", "colorspacious 1.1.2 and scipy 1.10", "l,a,b,inside,distance", rows)

# Volumes: the integral of the determinant of derivatives over the signal cube,
# where the signal is the cube root of light. In appearance models chroma has no
# derivative on the grey axis, so the cube is cut into the six tetrahedra around
# it: a place on the axis, a place on the edge from a primary to a secondary, and
# the square root of the way from one to the other.
x, w = leggauss(64)
x, w = (x + 1) / 2, w / 2
AXIS, WAY, EDGE = (v.ravel()[:, None] for v in np.meshgrid(x, x, x, indexing="ij"))
WEIGHT = np.einsum("i,j,k->ijk", w, w, w).ravel()


def density(f, m, t):
    d = np.empty((len(t), 3, 3))
    for k in range(3):
        h = np.zeros(3)
        h[k] = 1e-5
        d[:, :, k] = (f((m @ ((t + h).T ** 3)).T) - f((m @ ((t - h).T ** 3)).T)) / 2e-5
    return np.linalg.det(d)


def volume(f, m):
    total = 0
    for i in range(3):
        for j in range(3):
            if i != j:
                primary = np.eye(3)[i]
                secondary = primary + np.eye(3)[j]
                way = WAY**2
                t = (1 - way) * AXIS + way * ((1 - EDGE) * primary + EDGE * secondary)
                total += (WEIGHT * ((1 - way) * way * 2 * WAY).ravel() * density(f, m, t)).sum()
    return abs(total)


rows = []
for name in PRIMARIES:
    for space, f in (("CIELAB", lab), ("CAM02-UCS", ucs)):
        rows.append([name, space, "%.7g" % volume(f, matrix(name))])
write("crosscheck_volumes.csv", "colorspacious 1.1.2, Gauss-Legendre quadrature", "gamut,space,volume", rows)

# Shares of one volume that another covers, by chance.
t = rng.uniform(0, 1, (1500000, 3))
rows = []
for other in PRIMARIES:
    n = matrix(other)
    weight = np.abs(density(lab, n, t))
    for name in PRIMARIES:
        if name != other:
            linear = np.linalg.solve(matrix(name), n @ (t.T ** 3))
            rows.append([name, other, "%.5f" % (weight[((linear >= 0) & (linear <= 1)).all(0)].sum() / weight.sum())])
write("crosscheck_covers.csv", "colorspacious 1.1.2, 1.5 million random colours: good to about 0.0005", "gamut,other,share", rows)
