"""The two models of the comparison, written again from docs/model.md and the files of the tracks.

guided: a sled held on the reference line; state t, v.
point:  a point mass with friction on the whole surface, full state: t, u, chi, vx, vy, w (docs/model.md, Motion).

Splines are SciPy's; the cross-section is integrated in closed form on complex numbers. Nothing is
taken from the program but the numbers of `ours.toml`: mass, gravity, drag, launch.
"""

import csv
from pathlib import Path

import numpy as np
from numba import njit
from scipy.interpolate import CubicSpline, PPoly, make_interp_spline

ROOT = Path(__file__).resolve().parents[2]


def surface(folder):
    """Knots (m) and coefficients, highest power first: elevation; then one over the radius, banking, one over the
    trough radius, left and right edge."""
    with open(ROOT / "tracks" / folder / "stations.csv") as file:
        rows = list(csv.DictReader(line for line in file if not line.startswith("#")))
    column = lambda name: np.array([float(r[name]) if r[name] else 0.0 for r in rows])
    inverse = lambda x: np.divide(1.0, x, out=np.zeros_like(x), where=x != 0.0)
    s = column("station_m")
    ends = [(3, 0.0), (4, 0.0)]
    quintic = PPoly.from_spline(make_interp_spline(s, column("elevation_m"), k=5, bc_type=(ends, ends)))
    # five intervals without length stand before the first and behind the last
    elevation = np.ascontiguousarray(quintic.c[:, 5:-5])
    cubics = [
        CubicSpline(s, y, bc_type="natural").c
        for y in (
            inverse(column("radius_m")),
            np.radians(column("banking_deg")),
            inverse(column("trough_radius_m")),
            column("left_edge_m"),
            column("right_edge_m"),
        )
    ]
    return s, elevation, np.ascontiguousarray(np.array(cubics))


@njit(cache=True)
def cubic(c, i, d):
    """Value and two derivatives."""
    a3, a2, a1, a0 = c[0, i], c[1, i], c[2, i], c[3, i]
    return a0 + d * (a1 + d * (a2 + d * a3)), a1 + d * (2 * a2 + d * 3 * a3), 2 * a2 + 6 * d * a3


@njit(cache=True)
def line_at(s, knots, z, columns):
    """sin th, cos th, th', th'', k, k', jets of beta0 and c."""
    i = min(max(np.searchsorted(knots, s, side="right") - 1, 0), len(knots) - 2)
    d = s - knots[i]
    a5, a4, a3, a2, a1 = z[0, i], z[1, i], z[2, i], z[3, i], z[4, i]
    z1 = a1 + d * (2 * a2 + d * (3 * a3 + d * (4 * a4 + d * 5 * a5)))
    z2 = 2 * a2 + d * (6 * a3 + d * (12 * a4 + d * 20 * a5))
    z3 = 6 * a3 + d * (24 * a4 + d * 60 * a5)
    sin_th, cos_th = -z1, np.sqrt(1 - z1 * z1)
    th1 = -z2 / cos_th
    th2 = (-z3 + sin_th * th1 * th1) / cos_th
    p, p1, _ = cubic(columns[0], i, d)
    b, b1, b2 = cubic(columns[1], i, d)
    c, c1, c2 = cubic(columns[2], i, d)
    return sin_th, cos_th, th1, th2, cos_th * p, cos_th * p1 - sin_th * th1 * p, -b, -b1, -b2, c, c1, c2


@njit(cache=True)
def dot(a, b):
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


@njit(cache=True)
def cross(a, b):
    return a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]


@njit(cache=True)
def scaled(a, k):
    return a[0] * k, a[1] * k, a[2] * k


@njit(cache=True)
def motion(s, u, chi, vx, vy, gravity, knots, z, columns):
    """ds/dt, du/dt, turn of the line, normal load over mass, gravity along and across the sled."""
    sin_th, cos_th, th1, th2, k, k1, b0, b1, b2, c, c1, c2 = line_at(s, knots, z, columns)
    # P = Y + i Z = int_0^u exp(i beta) du, with moments M1, M2 of u
    e0, e1 = np.exp(1j * b0), np.exp(1j * (b0 + c * u))
    m0 = (e1 - e0) / (1j * c)
    m1 = (u * e1 - m0) / (1j * c)
    m2 = (u * u * e1 - 2 * m1) / (1j * c)
    p_s = 1j * (b1 * m0 + c1 * m1)
    p_ss = 1j * (b2 * m0 + c2 * m1) - (b1 * b1 * m0 + 2 * b1 * c1 * m1 + c1 * c1 * m2)
    turn = b1 + c1 * u
    y, zz = m0.real, m0.imag
    # r_s and its derivative in the moving frame
    kc, ks = k * cos_th, k * sin_th
    kc1, ks1 = k1 * cos_th - k * sin_th * th1, k1 * sin_th + k * cos_th * th1
    r_s = (1 - y * kc + zz * th1, p_s.real + zz * ks, p_s.imag - y * ks)
    t1 = -p_s.real * kc - y * kc1 + p_s.imag * th1 + zz * th2
    n1 = p_ss.real + p_s.imag * ks + zz * ks1
    z1 = p_ss.imag - p_s.real * ks - y * ks1
    r_ss = (t1 - r_s[1] * kc + r_s[2] * th1, n1 + r_s[0] * kc + r_s[2] * ks, z1 - r_s[0] * th1 - r_s[1] * ks)
    cos_b, sin_b = e1.real, e1.imag
    r_u = (0.0, cos_b, sin_b)
    r_su = (-cos_b * kc + sin_b * th1, -sin_b * turn + sin_b * ks, cos_b * turn - cos_b * ks)
    r_uu = (0.0, -sin_b * c, cos_b * c)
    stretch = np.sqrt(dot(r_s, r_s))
    first = scaled(r_s, 1 / stretch)
    raw = cross(r_s, r_u)
    normal = scaled(raw, 1 / np.sqrt(dot(raw, raw)))
    second = cross(normal, first)
    sin, cos = np.sin(chi), np.cos(chi)
    along, across = vx * cos - vy * sin, vx * sin + vy * cos
    u_dot = across / dot(r_u, second)
    s_dot = (along - u_dot * dot(r_u, first)) / stretch
    a_n = dot(r_ss, normal) * s_dot**2 + 2 * dot(r_su, normal) * s_dot * u_dot + dot(r_uu, normal) * u_dot**2
    line_turn = (dot(r_ss, second) * s_dot + dot(r_su, second) * u_dot) / stretch
    g1 = gravity * (first[0] * sin_th - first[2] * cos_th)
    g2 = gravity * (second[0] * sin_th - second[2] * cos_th)
    load = a_n - gravity * (normal[0] * sin_th - normal[2] * cos_th)
    return s_dot, u_dot, line_turn, load, g1 * cos + g2 * sin, g2 * cos - g1 * sin


@njit(cache=True)
def guided(s, y, out, n, knots, z, columns):
    """n: mass, gravity, drag, friction, ..."""
    v = y[1]
    _, _, _, load, along, _ = motion(s, 0.0, 0.0, v, 0.0, n[1], knots, z, columns)
    out[0] = 1 / v
    out[1] = (along - n[3] * abs(load) - n[2] * v * v / n[0]) / v


@njit(cache=True)
def point(s, y, out, n, knots, z, columns):
    """n: mass, gravity, drag, friction, yaw inertia, yaw moment of the air, shaking"""
    mass, gravity, drag, friction, inertia, air_yaw, shaking = n
    _, u, chi, vx, vy, w = y
    s_dot, u_dot, line_turn, load, gx, gy = motion(s, u, chi, vx, vy, gravity, knots, z, columns)
    speed = np.sqrt(vx * vx + vy * vy)
    against = friction * max(load, 0.0) / speed + (drag * speed + shaking) / mass
    out[0] = 1 / s_dot
    out[1] = u_dot / s_dot
    out[2] = (w - line_turn) / s_dot
    out[3] = (-against * vx + gx + w * vy) / s_dot
    out[4] = (-against * vy + gy - w * vx) / s_dot
    out[5] = -air_yaw * vx * vy / inertia / s_dot


class Model:
    """A model with the numbers of `ours.toml`; a tolerance is a share of `about`, as in the program."""

    def __init__(self, name, told):
        self.name, self.from_m, self.finish_m = name, told["from_m"], told["finish_m"]
        self.surface = surface(told["track"])
        self.rates = guided if name == "guided" else point
        keys = ("mass_kg", "gravity_m_s2", "drag_kg_per_m", "friction")
        more = ("yaw_inertia_kg_m2", "air_yaw_n_m_s2_per_rad_m2", "shaking_n_s_per_m")
        self.numbers = np.array([told[k] for k in keys + more])
        v = told["speed_m_s"]
        if name == "guided":
            self.start = np.array([0.0, v])
            self.about = np.array([1.0, 10.0])
        else:
            turn = motion(self.from_m, 0.0, 0.0, v, 0.0, told["gravity_m_s2"], *self.surface)[2]
            self.start = np.array([0.0, 0.0, 0.0, v, 0.0, turn])
            self.about = np.array([1.0, 1.0, 1.0, 10.0, 10.0, 1.0])

    def into(self, s, y, out):
        """Rates of change, written into `out`."""
        self.rates(s, y, out, self.numbers, *self.surface)

    def __call__(self, s, y):
        out = np.empty_like(y)
        self.rates(s, y, out, self.numbers, *self.surface)
        return out
