"""The workload W2 under scipy: a year of ADM1 with one dose a day, restarted at each.

Equations: Batstone et al. 2002 in the setting of Rosen and Jeppsson 2006; gas leaves through a pipe in proportion to its
over-pressure. pH is solved inside the right-hand side by Newton in ln(H); hydrogen is an ordinary state. The
right-hand side is vectorised; scipy differences its own Jacobian, whose columns it may ask for all at once.

Usage: scipy_year.py START METHOD RTOL  > "ms calls" (processor time) and one line "acetate propionate" for each day.
"""
import sys
import time

import numpy as np
from scipy.integrate import solve_ivp

NAMES = ("su aa fa va bu pro ac h2 ch4 IC IN I xc ch pr li xsu xaa xfa xc4 xpro xac xh2 xI cat an "
         "gh2 gch4 gco2 gair").split()
AT = {name: i for i, name in enumerate(NAMES)}
COMPONENTS = AT["gh2"]
CARBON = dict(su=.0313, aa=.03, fa=.0217, va=.024, bu=.025, pro=.0268, ac=.0313, ch4=.0156, IC=1, I=.03, xc=.02786,
              ch=.0313, pr=.03, li=.022, xI=.03)
NITROGEN = dict(aa=.007, IN=1, I=.06 / 14, xc=.0376 / 14, pr=.007, xI=.06 / 14)
GROUPS = "xsu xaa xfa xc4 xpro xac xh2".split()
for group in GROUPS:
    CARBON[group], NITROGEN[group] = .0313, .08 / 14

# (substrate, group, yield, k_m, K_S, hydrogen inhibition, pH band, products)
UPTAKES = [
    ("su", "xsu", .10, 30, .5, np.inf, 0, dict(bu=.13, pro=.27, ac=.41, h2=.19)),
    ("aa", "xaa", .08, 50, .3, np.inf, 0, dict(va=.23, bu=.26, pro=.05, ac=.40, h2=.06)),
    ("fa", "xfa", .06, 6, .4, 5e-6, 0, dict(ac=.7, h2=.3)),
    ("va", "xc4", .06, 20, .2, 1e-5, 0, dict(pro=.54, ac=.31, h2=.15)),
    ("bu", "xc4", .06, 20, .2, 1e-5, 0, dict(ac=.8, h2=.2)),
    ("pro", "xpro", .04, 13, .1, 3.5e-6, 0, dict(ac=.57, h2=.43)),
    ("ac", "xac", .05, 8, .15, np.inf, 1, dict(ch4=1)),
    ("h2", "xh2", .06, 35, 7e-6, np.inf, 2, dict(ch4=1)),
]
LOW, HIGH = np.array([4., 6, 5]), np.array([5.5, 7, 6])
BAND_N, BAND_K = 3 / (HIGH - LOW), -.5 * np.log(10) * (HIGH + LOW)
KS_IN, KI_NH3, SHARE_FLOOR = 1e-4, .0018, 1e-6
R_GAS, R_BAR = 8.3145, 0.08314462618


def stoichiometry():
    rows = [dict(xc=-1, I=.1, xI=.2, ch=.2, pr=.2, li=.3), dict(ch=-1, su=1), dict(pr=-1, aa=1),
            dict(li=-1, fa=.95, su=.05)]
    for substrate, group, y, *_, products in UPTAKES:
        rows.append({substrate: -1, group: y, **{name: share * (1 - y) for name, share in products.items()}})
    rows += [{group: -1, "xc": 1} for group in GROUPS]
    matrix = np.zeros((len(NAMES), len(rows)))
    for p, row in enumerate(rows):
        for content, closing in ((CARBON, "IC"), (NITROGEN, "IN")):
            matrix[AT[closing], p] -= sum(v * content.get(name, 0) for name, v in row.items())
        for name, v in row.items():
            matrix[AT[name], p] += v
    return matrix


ROWS = stoichiometry()
SUBSTRATE = np.array([AT[u[0]] for u in UPTAKES])
GROUP = np.array([AT[u[1]] for u in UPTAKES])
K_M, K_S, K_H2 = (np.array([float(u[i]) for u in UPTAKES])[:, None] for i in (3, 4, 5))
BAND = np.array([u[6] for u in UPTAKES])
LIVING = np.array([AT[g] for g in GROUPS])
ACIDS = np.array([AT[n] for n in ("ac", "pro", "bu", "va")])
WEIGHTS = np.array([64., 112, 160, 208])[:, None]
K_ACIDS = 10 ** -np.array([4.76, 4.88, 4.82, 4.86])[:, None]


class Year:
    def __init__(self, path):
        numbers = np.array(open(path).read().split(), float)
        (self.liquid, self.gas, self.pipe, self.back, self.ambient, self.kla, self.mean, self.swing, self.hottest,
         self.days, self.dose_m3) = numbers[:11]
        rest = numbers[11:]
        n = len(NAMES)
        self.start, self.dose, self.atol = rest[:n], rest[n:n + COMPONENTS], rest[n + COMPONENTS:]
        self.x = -16.1

    def rhs(self, t, y):
        flat = y.ndim == 1
        y = y[:, None] if flat else y
        kelvin = self.mean + self.swing * np.cos(2 * np.pi / 365.25 * (t - self.hottest)) + 273.15
        f = (1 / 298.15 - 1 / kelvin) / R_GAS
        kw, kc, kn = 1e-14 * np.exp(55900 * f), 10 ** -6.35 * np.exp(7646 * f), 10 ** -9.25 * np.exp(51965 * f)
        x = np.full(y.shape[1], self.x)
        for _ in range(50):
            h = np.exp(x)
            nh4, hco3, ions = h / (kn + h), kc / (kc + h), K_ACIDS / (K_ACIDS + h)
            acids = y[ACIDS] / WEIGHTS
            charge = y[24] - y[25] + h - kw / h + y[10] * nh4 - y[9] * hco3 - (acids * ions).sum(0)
            slope = (h + kw / h + y[10] * nh4 * (1 - nh4) + y[9] * hco3 * (1 - hco3)
                     + (acids * ions * (1 - ions)).sum(0))
            step = np.clip(-charge / slope, -2, 2)
            x = x + step
            if np.abs(step).max() < 1e-12:
                break
        self.x = x[0]
        h = np.exp(x)
        inhibition = 1 / (1 + np.exp(BAND_N[:, None] * (x - BAND_K[:, None])))
        rates = np.empty((ROWS.shape[1], y.shape[1]))
        rates[0], rates[1:4] = .5 * y[12], 10 * y[13:16]
        s = y[SUBSTRATE]
        uptake = (K_M * s / (K_S + s) * y[GROUP] * (y[10] / (KS_IN + y[10])) * inhibition[BAND]
                  / (1 + y[7] / K_H2))
        uptake[6] *= KI_NH3 / (KI_NH3 + y[10] * kn / (kn + h))
        both = y[3] + y[4] + SHARE_FLOOR
        uptake[3] *= y[3] / both
        uptake[4] *= y[4] / both
        rates[4:12], rates[12:] = uptake, .02 * y[LIVING]
        d = ROWS @ rates
        rtv = R_BAR * kelvin / self.gas
        n = y[COMPONENTS:]
        over = (n.sum(0) * rtv + .0313 * np.exp(5290 * (1 / 298.15 - 1 / kelvin)) - self.ambient - self.back)
        root = np.sqrt(over * over + 1e-12)
        out = self.pipe * np.where(over > 0, .5 * (over + root), .5e-12 / (root - over)) / self.gas
        henry = np.array([7.8e-4 * np.exp(-4180 * f), 1.4e-3 * np.exp(-14240 * f), 3.5e-2 * np.exp(-19410 * f)])[:, None]
        dissolved = np.array([y[7] / 16, y[8] / 64, y[9] * h / (kc + h)])
        flux = self.kla * (dissolved - henry * n[:3] * rtv)
        d[7] -= 16 * flux[0]
        d[8] -= 64 * flux[1]
        d[9] -= flux[2]
        d[COMPONENTS:COMPONENTS + 3] += self.liquid * flux
        d[COMPONENTS:] -= n * out
        return d[:, 0] if flat else d

    def run(self, method, rtol):
        y, ends, calls = self.start.copy(), [], 0
        for day in range(int(self.days)):
            y[:COMPONENTS] = (y[:COMPONENTS] * self.liquid + self.dose) / (self.liquid + self.dose_m3)
            options = {"vectorized": True} if method in ("Radau", "BDF") else {}
            done = solve_ivp(self.rhs, (day, day + 1), y, method, rtol=rtol, atol=self.atol * rtol / 1e-4,
                             t_eval=[day + 1], **options)
            if not done.success:
                sys.exit(f"day {day}: {done.message}")
            y, calls = done.y[:, -1], calls + done.nfev
            ends.append((y[6], y[5]))
        return ends, calls


def main():
    path, method, rtol = sys.argv[1], sys.argv[2], float(sys.argv[3])
    year = Year(path)
    begin = time.process_time()
    ends, calls = year.run(method, rtol)
    print(f"{1e3 * (time.process_time() - begin):.3f} {calls}")
    for acetate, propionate in ends:
        print(repr(float(acetate)), repr(float(propionate)))


main()
