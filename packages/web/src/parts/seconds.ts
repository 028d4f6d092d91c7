/** "41.3 s", "12 ms", "14 min 24 s": as many figures as a person compares. */
export function inSeconds(seconds: number): string {
  const figures = (value: number): string =>
    value.toLocaleString("en-GB", { maximumFractionDigits: value < 10 ? 2 : value < 100 ? 1 : 0 });
  if (seconds >= 120) {
    const whole = Math.round(seconds);
    return `${Math.floor(whole / 60)} min ${whole % 60} s`;
  }
  if (seconds >= 1 || seconds === 0) return `${figures(seconds)} s`;
  return seconds >= 0.001 ? `${figures(seconds * 1000)} ms` : `${figures(seconds * 1e6)} µs`;
}
