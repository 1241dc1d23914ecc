"""Colour rendering and fidelity of the CIE's lamps, by numpy, scipy and
colorspacious (Debian: python3-numpy python3-scipy python3-colorspacious).

usage: crosscheck.py DATA > crosscheck.csv
       crosscheck.py DATA random > crosscheck_random.csv
DATA holds the tables that colorimetry/spectrum/data has copies of, under the
names of the open data collection: cmf_cie1931_2deg_1nm.csv and so on.
"""
import csv
import sys

import colorspacious as cs
import numpy as np
from scipy.optimize import minimize_scalar

data = sys.argv[1] + "/"
nm = np.arange(380, 781, 5)


def table(name, columns=None):
    rows = list(csv.reader(open(data + name)))
    head, body = rows[0], np.array([[float(v or 0) for v in r] for r in rows[1:]])
    at = [np.where(body[:, 0] == w)[0][0] for w in nm]
    return head[1:], body[at, 1:].T


_, two = table("cmf_cie1931_2deg_1nm.csv")
_, ten = table("cmf_cie1964_10deg_1nm.csv")
_, tcs = table("reflectances_cie_tcs14_5nm.csv")
_, ces = table("reflectances_ces99_5nm.csv")
_, s012 = table("daylight_components_5nm.csv")


def planck(t):
    l = nm * 1e-9
    return l**-5 / np.expm1(1.4388e-2 / (l * t))


def daylight(t):
    t *= 1.0
    x = (-4.6070e9 / t**3 + 2.9678e6 / t**2 + 99.11 / t + 0.244063) if t <= 7000 else (
        -2.0064e9 / t**3 + 1.9018e6 / t**2 + 247.48 / t + 0.237040)
    y = -3 * x * x + 2.87 * x - 0.275
    m = 0.0241 + 0.2562 * x - 0.7341 * y
    # CIE 015 rounds both factors to three decimals.
    m1 = np.round((-1.3515 - 1.7703 * x + 5.9114 * y) / m, 3)
    m2 = np.round((0.03 - 31.4424 * x + 30.0717 * y) / m, 3)
    return s012[0] + m1 * s012[1] + m2 * s012[2]


def xyz(cmf, light, r=None):
    k = 100 / (cmf[1] @ light)
    return k * (cmf @ light) if r is None else k * (cmf * light) @ r.T


def uv(c):
    return np.array([4 * c[0], 6 * c[1]]) / (c[0] + 15 * c[1] + 3 * c[2])


# The locus is summed at 1 nm, as the temperature of a light is defined.
rows = list(csv.reader(open(data + "cmf_cie1931_2deg_1nm.csv")))[1:]
fine = np.array(rows, float)


def locus(t):
    l = fine[:, 0] * 1e-9
    return uv(fine[:, 1:].T @ (l**-5 / np.expm1(1.4388e-2 / (l * t))))


def cct(light):
    p = uv(xyz(two, light))
    f = lambda m: np.sum((locus(1e6 / m) - p) ** 2)
    return 1e6 / minimize_scalar(f, bounds=(40, 900), method="bounded", options={"xatol": 1e-10}).x


def ra(light, t):
    ref = planck(t) if t < 5000 else daylight(t)
    k, r = uv(xyz(two, light)), uv(xyz(two, ref))
    c = lambda p: (4 - p[0] - 10 * p[1]) / p[1]
    d = lambda p: (1.708 * p[1] + 0.404 - 1.481 * p[0]) / p[1]
    a, b = xyz(two, light, tcs), xyz(two, ref, tcs)
    p, q = uv(a), uv(b)
    e, f = c(r) / c(k) * c(p), d(r) / d(k) * d(p)
    n = 16.518 + 1.481 * e - f
    p = np.array([(10.872 + 0.404 * e - 4 * f) / n, 5.52 / n])
    w1, w2 = 25 * np.cbrt(a[1]) - 17, 25 * np.cbrt(b[1]) - 17
    g = 13 * w1 * (p - r[:, None]) - 13 * w2 * (q - r[:, None])
    return 100 - 4.6 * np.sqrt(g[0] ** 2 + g[1] ** 2 + (w1 - w2) ** 2)


def rf(light, t):
    if t < 4000:
        ref = planck(t)
    elif t > 5000:
        ref = daylight(t)
    else:
        p, q = planck(t), daylight(t)
        ref = (5000 - t) / 1000 * p / (ten[1] @ p) + (t - 4000) / 1000 * q / (ten[1] @ q)

    def jab(l):
        # F enters the degree of adaptation alone: this one makes it 1.
        full = 1 / (1 - np.exp((-100 - 42) / 92) / 3.6)
        space = cs.CIECAM02Space(xyz(ten, l), 20, 100, cs.CIECAM02Surround(full, 0.69, 1.0))
        assert abs(space.D - 1) < 1e-12
        cam = space.XYZ100_to_CIECAM02(xyz(ten, l, ces).T)
        return cs.cspace_convert(np.stack([cam.J, cam.M, cam.h], 1), "JMh", "CAM02-UCS")

    d = np.linalg.norm(jab(light) - jab(ref), axis=1).mean()
    return 10 * np.log1p(np.exp((100 - 6.73 * d) / 10))



def offset(light, t):
    d = uv(xyz(two, light)) - locus(t)
    return np.hypot(*d) * (1 if d[1] > 0 else -1)


if len(sys.argv) > 2:
    # Sums of bells, each centre:width:height, that lie near the locus.
    rng = np.random.default_rng(224)
    print("# Colour rendering of 500 invented lights, each a sum of bells centre:width:height, exp(-((nm-centre)/width)^2/2) times height, at 380 to 780 nm in steps of 5 nm; computed by crosscheck.py with numpy, scipy and colorspacious 1.1.2")
    print("bells,kelvin,duv,ra,r9,r12,rf")
    count = 0
    while count < 500:
        n = rng.integers(3, 8)
        bells = np.c_[rng.integers(400, 700, n), rng.integers(8, 90, n), rng.integers(10, 100, n)]
        light = (bells[:, 2:] * np.exp(-((nm - bells[:, :1]) / bells[:, 1:2]) ** 2 / 2)).sum(0)
        t = cct(light)
        if not 1800 < t < 20000 or abs(offset(light, t)) > 0.045:
            continue
        count += 1
        r = ra(light, t)
        print("%s,%.8g,%.6f,%.8g,%.8g,%.8g,%.8g" % (" ".join("%d:%d:%d" % tuple(b) for b in bells), t, offset(light, t), r[:8].mean(), r[8], r[11], rf(light, t)))
    sys.exit()

print("# Ra, R9 and Rf of the CIE's lamps. Source: lamps of CIE 015:2018 (5 nm); computed by crosscheck.py with numpy, scipy and colorspacious 1.1.2.")
print("illuminant,kelvin,ra,r9,rf")
for name in ("illuminants_fl_5nm.csv", "illuminants_hp_5nm.csv", "illuminants_led_5nm.csv"):
    for n, light in zip(*table(name)):
        t = cct(light)
        r = ra(light, t)
        print("%s,%.9g,%.9g,%.9g,%.9g" % (n, t, r[:8].mean(), r[8], rf(light, t)))
