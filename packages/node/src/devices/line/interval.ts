/** The share of errors with its confidence interval. */
export interface ErrorRate {
  rate: number;
  low: number;
  high: number;
}

/** ln Γ by Stirling's series after shifting the argument up. */
function logGamma(x: number): number {
  let shift = 0;
  let at = x;
  for (; at < 10; at++) shift += Math.log(at);
  const square = 1 / (at * at);
  const series = (1 / 12 - square * (1 / 360 - square / 1260)) / at;
  return (at - 0.5) * Math.log(at) - at + 0.5 * Math.log(2 * Math.PI) + series - shift;
}

/** Regularised incomplete beta function by its continued fraction (DLMF 8.17.22). */
export function betaShare(x: number, a: number, b: number): number {
  if (x <= 0) return 0;
  if (x >= 1) return 1;
  if (x > (a + 1) / (a + b + 2)) return 1 - betaShare(1 - x, b, a);
  const front = Math.exp(logGamma(a + b) - logGamma(a) - logGamma(b) + a * Math.log(x) + b * Math.log1p(-x)) / a;
  const tiny = 1e-300;
  let c = 1;
  let d = 1 / Math.max(tiny, 1 - ((a + b) * x) / (a + 1));
  let fraction = d;
  for (let m = 1; m < 1000; m++) {
    const even = (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m));
    const odd = (-(a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1));
    let step = 1;
    for (const part of [even, odd]) {
      d = 1 / (1 + part * d || tiny);
      c = 1 + part / c || tiny;
      step = c * d;
      fraction *= step;
    }
    if (Math.abs(step - 1) < 1e-12) break;
  }
  return front * fraction;
}

/** Where the share of a beta distribution reaches `share`, by halving. */
function betaPoint(share: number, a: number, b: number): number {
  let [low, high] = [0, 1];
  for (let step = 0; step < 200 && high - low > 1e-15; step++) {
    const middle = (low + high) / 2;
    if (betaShare(middle, a, b) < share) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/**
 * Share of `wrong` among `all` with the exact two-sided interval of Clopper and Pearson (Biometrika 26, 1934). It takes
 * errors to strike independently; on a real line they come in bursts, and the true interval is wider.
 */
export function errorRate(wrong: number, all: number, confidence = 0.95): ErrorRate {
  if (all === 0) return { rate: Number.NaN, low: 0, high: 1 };
  const outside = (1 - confidence) / 2;
  return {
    rate: wrong / all,
    low: wrong === 0 ? 0 : betaPoint(outside, wrong, all - wrong + 1),
    high: wrong === all ? 1 : betaPoint(1 - outside, wrong + 1, all - wrong),
  };
}
