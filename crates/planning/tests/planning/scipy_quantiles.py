"""Makes scipy_quantiles.csv: quantiles of scipy.stats (gamma, nbinom, betaprime), for quantiles.rs beside it.

    python -m venv venv && venv/bin/pip install scipy && venv/bin/python scipy_quantiles.py > scipy_quantiles.csv
"""

import itertools

import scipy
from scipy.stats import betaprime, gamma, nbinom

print("# scipy", scipy.__version__)
print("what,shape,exposure,needed,time,probability,value")
for rate, needed, p in itertools.product([0.5, 20 / 90, 3.0], [1, 5, 20, 300], [0.05, 0.1, 0.5, 0.9, 0.95]):
    print(f"known,{rate:.17g},,{needed},,{p},{gamma.ppf(p, needed, scale=1 / rate):.17g}")
PRIORS = [(0.5, 60.0), (1.0, 30.0), (4.0, 120.0), (12.5, 90.0), (250.0, 700.0)]
for (a, b), p in itertools.product(PRIORS, [0.05, 0.1, 0.5, 0.9, 0.95]):
    print(f"rate,{a},{b},,,{p},{gamma.ppf(p, a, scale=1 / b):.17g}")
    for needed in [1, 3, 5, 20, 300]:
        print(f"time,{a},{b},{needed},,{p},{betaprime.ppf(p, needed, a) * b:.17g}")
    for time in [7.0, 30.0, 365.0]:
        print(f"count,{a},{b},,{time},{p},{int(nbinom.ppf(p, a, b / (b + time)))}")
for (a, b), needed, time in itertools.product(PRIORS, [1, 3, 20, 300], [7.0, 30.0, 365.0]):
    print(f"chance,{a},{b},{needed},{time},,{nbinom.sf(needed - 1, a, b / (b + time)):.17g}")
