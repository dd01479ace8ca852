"""Random times by inversion: the quantile function of every shape in base.distributions, written without a library.

The normal quantile is Wichura's algorithm AS 241 (PPND16; Applied Statistics 37, 1988, 477 to 484), good to about one
part in 1e16. The gamma quantile starts from Wilson and Hilferty's cube (1931) and is polished by bracketed Halley
steps on the regularised incomplete gamma function, by its series below a + 1 and Lentz's continued fraction above.
"""

from __future__ import annotations

import math


def normal_quantile(p: float) -> float:
    """The standard normal value not exceeded with probability ``p``, 0 < p < 1."""
    q = p - 0.5
    if abs(q) <= 0.425:
        s = 0.180625 - q * q
        top = (
            ((((((2.5090809287301226727e3 * s + 3.3430575583588128105e4) * s + 6.7265770927008700853e4) * s
                 + 4.5921953931549871457e4) * s + 1.3731693765509461125e4) * s + 1.9715909503065514427e3) * s
               + 1.3314166789178437745e2) * s + 3.3871328727963666080e0
        )  # fmt: skip
        bottom = (
            ((((((5.2264952788528545610e3 * s + 2.8729085735721942674e4) * s + 3.9307895800092710610e4) * s
                 + 2.1213794301586595867e4) * s + 5.3941960214247511077e3) * s + 6.8718700749205790830e2) * s
               + 4.2313330701600911252e1) * s + 1.0
        )  # fmt: skip
        return q * top / bottom
    s = p if q < 0.0 else 1.0 - p
    s = math.sqrt(-math.log(s))
    if s <= 5.0:
        s -= 1.6
        top = (
            ((((((7.74545014278341407640e-4 * s + 2.27238449892691845833e-2) * s + 2.41780725177450611770e-1) * s
                 + 1.27045825245236838258e0) * s + 3.64784832476320460504e0) * s + 5.76949722146069140550e0) * s
               + 4.63033784615654529590e0) * s + 1.42343711074968357734e0
        )  # fmt: skip
        bottom = (
            ((((((1.05075007164441684324e-9 * s + 5.47593808499534494600e-4) * s + 1.51986665636164571966e-2) * s
                 + 1.48103976427480074590e-1) * s + 6.89767334985100004550e-1) * s + 1.67638483018380384940e0) * s
               + 2.05319162663775882187e0) * s + 1.0
        )  # fmt: skip
    else:
        s -= 5.0
        top = (
            ((((((2.01033439929228813265e-7 * s + 2.71155556874348757815e-5) * s + 1.24266094738807843860e-3) * s
                 + 2.65321895265761230930e-2) * s + 2.96560571828504891230e-1) * s + 1.78482653991729133580e0) * s
               + 5.46378491116411436990e0) * s + 6.65790464350110377720e0
        )  # fmt: skip
        bottom = (
            ((((((2.04426310338993978564e-15 * s + 1.42151175831644588870e-7) * s + 1.84631831751005468180e-5) * s
                 + 7.86869131145613259100e-4) * s + 1.48753612908506148525e-2) * s + 1.36929880922735805310e-1) * s
               + 5.99832206555887937690e-1) * s + 1.0
        )  # fmt: skip
    return -top / bottom if q < 0.0 else top / bottom


def lower_gamma(a: float, t: float) -> float:
    """The regularised lower incomplete gamma function P(a, t)."""
    if t <= 0.0:
        return 0.0
    return lower_gamma_from(a, t, math.exp(a * math.log(t) - t - math.lgamma(a)))


def lower_gamma_from(a: float, t: float, front: float) -> float:
    """P(a, t) where ``front`` = t**a exp(-t) / gamma(a) is known already."""
    if t < a + 1.0:
        term = 1.0 / a
        total = term
        k = a
        for _ in range(2000):
            k += 1.0
            term *= t / k
            total += term
            if term < total * 1e-14:
                break
        return total * front
    tiny = 1e-300
    b = t + 1.0 - a
    c = 1.0 / tiny
    d = 1.0 / b
    fraction = d
    for k in range(1, 2000):
        an = -k * (k - a)
        b += 2.0
        d = an * d + b
        if abs(d) < tiny:
            d = tiny
        c = b + an / c
        if abs(c) < tiny:
            c = tiny
        d = 1.0 / d
        step = d * c
        fraction *= step
        if abs(step - 1.0) < 1e-16:
            break
    return 1.0 - front * fraction


def gamma_quantile(a: float, p: float) -> float:
    """The value of a gamma variable of shape ``a`` and scale 1 not exceeded with probability ``p``."""
    z = normal_quantile(p)
    w = 1.0 - 1.0 / (9.0 * a) + z / (3.0 * math.sqrt(a))
    t = a * w * w * w
    if w <= 0.0 or t < 0.1 * a:
        t = math.exp((math.log(p) + math.lgamma(a + 1.0)) / a)
    low, high = 0.0, math.inf
    log_gamma = math.lgamma(a)
    for _ in range(100):
        front = math.exp(a * math.log(t) - t - log_gamma) if t > 0.0 else 0.0
        miss = lower_gamma_from(a, t, front) - p if t > 0.0 else -p
        if miss > 0.0:
            high = t
        else:
            low = t
        new = -1.0
        step = 0.0
        if front > 0.0:
            step = miss * t / front
            bend = 1.0 - 0.5 * step * ((a - 1.0) / t - 1.0)
            new = t - step / bend if bend > 0.5 else t - step
        if not low < new < high:
            step = t
            new = 2.0 * t + 1e-300 if high == math.inf else 0.5 * (low + high)
        if abs(step) <= NEAR * t:
            return new
        t = new
    return t


NEAR = 2e-4
"""A Halley step this small, relative to the value, leaves an error of the order of its cube."""


def quantile(shape: int, a: float, b: float, c: float, u: float) -> float:
    """The value not exceeded with probability ``u``; shapes and parameters as in base.distributions.Shape."""
    if shape == 1:
        return -a * math.log(1.0 - u)
    if shape == 2:
        return math.exp(a + b * normal_quantile(u))
    if shape == 3:
        return b * gamma_quantile(a, u)
    if shape == 4:
        return b * math.pow(-math.log(1.0 - u), 1.0 / a)
    if shape == 5:
        below = 0.5 * math.erfc(a / b / math.sqrt(2.0))
        value = a + b * normal_quantile(below + u * (1.0 - below))
        return value if value > 0.0 else 0.0
    if shape == 6:
        if u * (c - a) < b - a:
            return a + math.sqrt(u * (c - a) * (b - a))
        return c - math.sqrt((1.0 - u) * (c - a) * (c - b))
    if shape == 7:
        return a + (b - a) * u
    return a
