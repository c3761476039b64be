// Times to places on the paper, by the transport that the lecture's data has: see
// instrument.Transport, whose closed forms these are, and to whose cases they are
// held.

/** The share of its turning that a motor loses at most. */
const mostSlowed = 0.8;

/** By how much the square of the spool's radius grows along the paper, as a share a millimetre. */
const growth = (p) => (p.radius ? p.thickness / (Math.PI * p.radius * p.radius) : 0);

/** The radius at a row, as a multiple of that at time 0. */
const widening = (p, mm) => Math.sqrt(Math.max(0, 1 + growth(p) * mm));

/** The row on the bar, in millimetres, at a time in seconds. */
function along(p, sec) {
  if (p.slowing) return alongSlowing(p, sec);
  return p.speed * sec + growth(p) * (p.speed * sec / 2) ** 2;
}

/** The same where the motor slows with the paper it winds. */
function alongSlowing(p, sec) {
  const k = p.slowing, a = growth(p), g = Math.sqrt(k * (k + a)), most = mostSlowed / k;
  const u = widening(p, most), full = 2 / p.speed * Math.atanh(g * most / (1 + u - mostSlowed)) / g;
  if (sec > full) {
    const d = (sec - full) * p.speed * (1 - mostSlowed) / 2;
    return most + d * (2 * u + a * d);
  }
  const half = p.speed * sec / 2, x = g * half;
  const q = x === 0 ? half : half * Math.tanh(x) / x, by = 1 + k * q;
  return q * (2 * by + a * q) / (by * by);
}
