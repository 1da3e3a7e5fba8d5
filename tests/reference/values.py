"""Values that tests compare with and that were computed apart from the program: `python3 tests/reference/values.py`.

Plain Python, no packages. Each line names the test, says what it is, and prints the value with its unit. Forces are
integrated here over the touch, where the program uses closed forms.
"""

import math


def bisect(f, low, high):
    """Zero of a rising function."""
    for _ in range(200):
        middle = 0.5 * (low + high)
        if f(middle) < 0.0:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def integral(f, low, high, n=200_000):
    """Midpoint rule."""
    h = (high - low) / n
    return h * sum(f(low + (i + 0.5) * h) for i in range(n))


def eight_schools():
    """Means of the effects of eight schools, flat prior of the spread between them, by quadrature over it."""
    y = [28.0, 8.0, -3.0, 7.0, -1.0, 1.0, 18.0, 12.0]
    s = [15.0, 10.0, 16.0, 11.0, 9.0, 11.0, 10.0, 18.0]
    total, sums, n, top = 0.0, [0.0] * 8, 100_000, 200.0
    for i in range(n):
        tau = (i + 0.5) / n * top
        w = [1.0 / (tau * tau + e * e) for e in s]
        mean = sum(a * b for a, b in zip(w, y)) / sum(w)
        squares = sum(a * (b - mean) ** 2 for a, b in zip(w, y))
        likely = math.exp(20.0 + 0.5 * (sum(map(math.log, w)) - math.log(sum(w)) - squares))
        total += likely
        for j in range(8):
            sums[j] += likely * (mean + (y[j] - mean) * tau * tau / (tau * tau + s[j] ** 2))
    return [v / total for v in sums]


def rigid_rod(load_n, hardness_pa, bow_radius_m, rod_radius_m):
    """A rod of radius r bent to radius R, pressed into ice that bears its hardness."""

    def half_length(depth):
        return math.sqrt(2.0 * bow_radius_m * depth)

    def carried(depth):
        a = half_length(depth)
        line = lambda x: hardness_pa * 2.0 * math.sqrt(2.0 * rod_radius_m * max(depth - x * x / (2.0 * bow_radius_m), 0.0))
        # ice behind the deepest point is cut already and bears nothing
        return integral(line, 0.0, a, 20_000)

    depth = bisect(lambda d: carried(d) - load_n, 1e-9, 1e-3)
    # frontal area: the shallow segment of the rod's section below the ice
    area = integral(lambda z: 2.0 * math.sqrt(2.0 * rod_radius_m * z), 0.0, depth)
    return depth, half_length(depth), math.sqrt(2.0 * rod_radius_m * depth), hardness_pa * area / load_n


def side_force(load_n, hardness_pa, bow_radius_m, depth_m, radius_m, slip_rad):
    """Side force over load at a slip. The ice pushes along the normal of the cut, which leans against the motion.

    Closed form of the program: tan(phi) = sqrt(R/r) tan(slip), across = (4/(3 pi)) sqrt(2 d0/r) sin(phi). Here the
    cut of a paraboloid of radii R and r is swept over its section across the direction of motion.
    """
    a, b = math.sqrt(2.0 * bow_radius_m * depth_m), math.sqrt(2.0 * radius_m * depth_m)
    # the touch is the ellipse x = a s cos t, y = b s sin t
    vx, vy = math.cos(slip_rad), math.sin(slip_rad)
    # share of the surface that faces the motion: gradient of the depth times velocity above zero
    n, rings = 20_000, 100
    across = carried = 0.0
    for i in range(n):
        for j in range(rings):
            t, s = 2.0 * math.pi * (i + 0.5) / n, (j + 0.5) / rings
            x, y = a * s * math.cos(t), b * s * math.sin(t)
            area = a * b * s * (2.0 * math.pi / n) * (1.0 / rings)
            # slope of the rod's underside
            sx, sy = x / bow_radius_m, y / radius_m
            carried += area
            if sx * vx + sy * vy > 0.0:
                across += sy * area
    # the half that faces the motion carries all of the load
    return 2.0 * across / carried


def bowed_rod_on_springs(stiffness_n_m2, foundation_n_m2, radius_m, load_n):
    """Half length (m), depth (m) and moment (N m) of a rod bent to a radius, pressed in the middle on a one-sided
    Winkler foundation.

    E I d'''' + k d = 0 inside the touch; d' = 0 and E I d''' = P/2 in the middle; d = 0, d'' = -1/R, d''' = 0 at the
    end of the touch.
    """
    beta = (foundation_n_m2 / (4.0 * stiffness_n_m2)) ** 0.25

    def functions(x):
        c, s = math.cos(beta * x), math.sin(beta * x)
        ch, sh = math.cosh(beta * x), math.sinh(beta * x)
        # Krylov functions, and each as the derivative of the one before it
        k = [ch * c, 0.5 * (ch * s + sh * c), 0.5 * sh * s, 0.25 * (ch * s - sh * c)]
        rows = [k]
        for _ in range(3):
            last = rows[-1]
            rows.append([-4.0 * beta * last[3], beta * last[0], beta * last[1], beta * last[2]])
        return rows

    third = load_n / 2.0 / stiffness_n_m2

    def at(half):
        # d = A K1 + B K2 + C K3 + D K4; d'(0) = beta B = 0; d'''(0) = beta^3 D
        big_d = third / beta**3
        rows = functions(half)
        # two of the three conditions at the end give A and C, the third is left over
        a11, a12, r1 = rows[0][0], rows[0][2], -big_d * rows[0][3]
        a21, a22, r2 = rows[3][0], rows[3][2], -big_d * rows[3][3]
        determinant = a11 * a22 - a12 * a21
        big_a, big_c = (r1 * a22 - a12 * r2) / determinant, (a11 * r2 - r1 * a21) / determinant
        bend = big_a * rows[2][0] + big_c * rows[2][2] + big_d * rows[2][3]
        return bend + 1.0 / radius_m, big_a, big_c

    # the bend at the end of the touch falls as the touch grows
    low, high = 0.02, 0.29
    sign = 1.0 if at(low)[0] < 0.0 else -1.0
    half = bisect(lambda x: sign * at(x)[0], low, high)
    _, big_a, big_c = at(half)
    moment = -stiffness_n_m2 * (beta * beta * big_c + 1.0 / radius_m)
    return half, big_a, moment


def main():
    depth, half, width, friction = rigid_rod(564.0, 17.7e6, 40.0, 8e-3)
    print("exact_rigid_rod: rod r 8 mm, R 40 m, 564 N, 17.7 MPa")
    print(f"  depth {1e6 * depth:.3f} um, half length {1e3 * half:.3f} mm, half width {1e3 * width:.5f} mm, friction {friction:.6f}")
    print("exact_lateral_force_of_a_rigid_rod: half a degree, and great slip, of the load")
    for radius in (8e-3, 1e-3):
        depth, *_ = rigid_rod(564.0, 17.7e6, 40.0, radius)
        small = side_force(564.0, 17.7e6, 40.0, depth, radius, math.radians(0.5))
        great = side_force(564.0, 17.7e6, 40.0, depth, radius, math.radians(89.99))
        print(f"  r {1e3 * radius:.0f} mm: {small:.4f}, {great:.4f}")
    print("exact_bowed_rod_on_winkler_foundation: EI 643.398 N m2, k 5e6 N/m2")
    for radius, load in ((20.0, 280.0), (20.0, 560.0), (40.0, 560.0)):
        half, depth, moment = bowed_rod_on_springs(643.398175455, 5e6, radius, load)
        print(f"  R {radius:.0f} m, {load:.0f} N: half length {1e3 * half:.6f} mm, depth {1e6 * depth:.6f} um, moment {moment:.6f} N m")
    print("exact_banking_carries_the_design_speed: level, 30 m/s, R 25 m")
    print(f"  {math.atan(900.0 / (9.80665 * 25.0)):.16f} rad")
    print("published_eight_schools: " + ", ".join(f"{v:.4f}" for v in eight_schools()))


if __name__ == "__main__":
    main()
