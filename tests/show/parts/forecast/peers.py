"""Plain forecasters, as textbooks have them, and ours, behind one interface.

Straight line: least squares over the last 60 s. Holt: double exponential
smoothing (NIST/SEMATECH e-Handbook of Statistical Methods, 6.4.3.3, from memory).
Constant velocity: the Kalman filter with white acceleration (Bar-Shalom, Li and
Kirubarajan, Estimation with Applications to Tracking and Navigation, 6.2, from
memory). Fitted exponential: least squares of one exponential over the last 600 s.
None of them knows that a reading is a rounded number.
"""

from __future__ import annotations

import math
from collections import deque

import numpy as np

from bridge.thermal import estimator, forecast
from bridge.thermal.surroundings import surroundings
from bridge.values.outlook import HORIZON_S
from bridge.values.sheet import Window
from tests.show.parts.forecast.plants import Curve
from tests.show.parts.forecast.score import Answer, Question

STEPS = np.concatenate([np.arange(0, 300, 2.5), np.geomspace(300, HORIZON_S, 60)])


def _first(mean: np.ndarray, sd: np.ndarray, edge: float, *, up: bool) -> Answer:
    """Quantiles of the first passage from a mean and a spread over STEPS."""
    z = (mean - edge if up else edge - mean) / np.maximum(sd, 1e-9)
    chance = np.array([0.5 * math.erfc(-v / math.sqrt(2)) for v in z])
    chance = np.maximum.accumulate(chance)
    found = []
    for level in (0.05, 0.5, 0.95):
        i = int(np.searchsorted(chance, level))
        if i == len(STEPS):
            found.append(None)
        elif i == 0:
            found.append(0.0)
        else:
            part = (level - chance[i - 1]) / (chance[i] - chance[i - 1])
            found.append(float(STEPS[i - 1] + part * (STEPS[i] - STEPS[i - 1])))
    return Answer(p05_s=found[0], p50_s=found[1], p95_s=found[2])


class _Peer:
    """Common to all: turn a mean and a spread ahead into an answer."""

    def __init__(self) -> None:
        self.t_s = 0.0

    def ahead(self, since_s: float) -> tuple[np.ndarray, np.ndarray]:
        raise NotImplementedError

    def ask(self, question: Question) -> Answer:
        mean, sd = self.ahead(question.at_s - self.t_s)
        now = float(mean[0])
        if question.kind == "exit":
            up = mean[min(40, len(mean) - 1)] >= now
            edge = question.high_c if up else question.low_c
        else:
            up = now < 0.5 * (question.low_c + question.high_c)
            edge = question.low_c if up else question.high_c
        return _first(mean, sd, edge, up=bool(up))


class StraightLine(_Peer):
    name = "straight line, last 60 s"
    span_s = 60.0

    def __init__(self) -> None:
        super().__init__()
        self.seen: deque[tuple[float, float]] = deque()

    def observe(self, t_s: float, temp_c: float) -> None:
        if math.isnan(temp_c):
            return
        self.t_s = t_s
        self.seen.append((t_s, temp_c))
        while len(self.seen) > 3 and t_s - self.seen[0][0] > self.span_s:
            self.seen.popleft()

    def ahead(self, since_s: float) -> tuple[np.ndarray, np.ndarray]:
        t, z = np.array(self.seen).T
        if len(t) < 2:
            return np.full(len(STEPS), z[-1]), np.full(len(STEPS), 1.0)
        x = t - t.mean()
        slope = float(x @ z / max(x @ x, 1e-9))
        rest = z - z.mean() - slope * x
        var = float(rest @ rest / max(len(t) - 2, 1)) + 1e-6
        at = self.t_s - t.mean() + since_s + STEPS
        return z.mean() + slope * at, np.sqrt(
            var * (1 / len(t) + at**2 / max(x @ x, 1e-9))
        )


class Holt(_Peer):
    name = "Holt"
    level_time_s, slope_time_s = 15.0, 60.0

    def __init__(self) -> None:
        super().__init__()
        self.level: float | None = None
        self.slope = 0.0
        self.var = 0.1

    def observe(self, t_s: float, temp_c: float) -> None:
        if math.isnan(temp_c):
            return
        if self.level is None:
            self.level, self.t_s = temp_c, t_s
            return
        dt = max(t_s - self.t_s, 1e-3)
        a, b = (
            1 - math.exp(-dt / self.level_time_s),
            1 - math.exp(-dt / self.slope_time_s),
        )
        told = self.level + self.slope * dt
        level = told + a * (temp_c - told)
        self.slope += b * ((level - self.level) / dt - self.slope)
        self.var += 0.02 * ((temp_c - told) ** 2 - self.var)
        self.level, self.t_s = level, t_s

    def ahead(self, since_s: float) -> tuple[np.ndarray, np.ndarray]:
        at = since_s + STEPS
        level = self.level if self.level is not None else math.nan
        sd = np.sqrt(self.var * (0.3 + (at / self.slope_time_s) ** 2))
        return level + self.slope * at, sd


class ConstantVelocity(_Peer):
    name = "constant-velocity Kalman"
    density, noise_var = 2e-6, 0.15

    def __init__(self) -> None:
        super().__init__()
        self.mean: np.ndarray | None = None
        self.cov = np.diag([1.0, 0.01])

    def _move(self, dt: float) -> tuple[np.ndarray, np.ndarray]:
        f = np.array([[1.0, dt], [0.0, 1.0]])
        q = self.density * np.array([[dt**3 / 3, dt**2 / 2], [dt**2 / 2, dt]])
        return f @ self.mean, f @ self.cov @ f.T + q

    def observe(self, t_s: float, temp_c: float) -> None:
        if math.isnan(temp_c):
            return
        if self.mean is None:
            self.mean, self.t_s = np.array([temp_c, 0.0]), t_s
            return
        mean, cov = self._move(t_s - self.t_s)
        gain = cov[:, 0] / (cov[0, 0] + self.noise_var)
        self.mean = mean + gain * (temp_c - mean[0])
        self.cov = cov - np.outer(gain, cov[0])
        self.t_s = t_s

    def ahead(self, since_s: float) -> tuple[np.ndarray, np.ndarray]:
        at = since_s + STEPS
        p, q = self.cov, self.density
        var = p[0, 0] + 2 * at * p[0, 1] + at**2 * p[1, 1] + q * at**3 / 3
        return self.mean[0] + self.mean[1] * at, np.sqrt(var)


class FittedExponential(_Peer):
    name = "fitted exponential"
    span_s = 600.0
    taus = np.geomspace(60, 6000, 25)

    def __init__(self) -> None:
        super().__init__()
        self.seen: deque[tuple[float, float]] = deque()

    def observe(self, t_s: float, temp_c: float) -> None:
        if math.isnan(temp_c):
            return
        self.t_s = t_s
        self.seen.append((t_s, temp_c))
        while t_s - self.seen[0][0] > self.span_s:
            self.seen.popleft()

    def ahead(self, since_s: float) -> tuple[np.ndarray, np.ndarray]:
        t, z = np.array(self.seen).T
        keep = slice(None, None, max(1, len(t) // 200))
        x, y = t[keep] - self.t_s, z[keep]
        best = None
        for tau in self.taus:
            basis = np.stack([np.ones_like(x), -np.expm1(-x / tau)], axis=1)
            normal = basis.T @ basis + 1e-9 * np.eye(2)
            theta = np.linalg.solve(normal, basis.T @ y)
            rest = y - basis @ theta
            if best is None or rest @ rest < best[0]:
                best = (float(rest @ rest), tau, theta, np.linalg.inv(normal))
        loss, tau, theta, shape = best
        ahead = np.stack(
            [np.ones_like(STEPS), -np.expm1(-(since_s + STEPS) / tau)], axis=1
        )
        var = loss / max(len(x) - 3, 1) + 1e-6
        spread = np.einsum("hi,ij,hj->h", ahead, shape, ahead)
        return ahead @ theta, np.sqrt(var * spread)


class Ours:
    name = "sumpgate"

    def __init__(self) -> None:
        self.track = estimator.begin(estimator.Sensor())

    def observe(self, t_s: float, temp_c: float) -> None:
        self.track = estimator.observe(self.track, t_s=t_s, temp_c=temp_c)

    def ask(self, question: Question) -> Answer:
        window = Window(low_c=question.low_c, high_c=question.high_c)
        at = question.at_s
        told = forecast.forecast(self.track, window, now_s=at)
        crossing = told.shuts if question.kind == "exit" else told.opens
        if crossing is None:
            return Answer(p05_s=None, p50_s=None, p95_s=None, told=False)
        return Answer(
            p05_s=crossing.p05_s,
            p50_s=crossing.p50_s,
            p95_s=crossing.p95_s,
            told=crossing.p50_s is not None,
        )


class OursInformed(Ours):
    """The same, told what a live car tells: resolution, ambient, engine running."""

    name = "sumpgate, with ambient"

    def __init__(self, curve: Curve) -> None:
        sensor = estimator.Sensor(resolution_c=curve.resolution_c)
        self.track = surroundings(
            estimator.begin(sensor),
            t_s=0.0,
            ambient_c=curve.ambient_c,
            engine_rpm=0.0 if curve.family == "cooling" else 750.0,
        )


PEERS = (StraightLine, Holt, ConstantVelocity, FittedExponential)
