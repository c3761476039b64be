// Times to places on the paper and back, by the transport that the server
// gives: at constant speed s = v0 t; on a spool that grows by h a turn from
// radius r0, s = v0 t + h v0² t² / (4 π r0²). A motor that slows by the share k
// a millimetre moves the paper at v0 u (1 - k s), u = sqrt(1 + a s),
// a = h / (π r0²); see instrument.Transport, whose closed forms these are.
import type { Transport } from "../work";

const mostSlowed = 0.8;

function bend(t: Transport): number {
  return t.spool ? (t.thickness * t.v0 * t.v0) / (4 * Math.PI * t.radius * t.radius) : 0;
}

function growth(t: Transport): number {
  return t.spool ? t.thickness / (Math.PI * t.radius * t.radius) : 0;
}

function widening(t: Transport, along: number): number {
  return Math.sqrt(Math.max(0, 1 + growth(t) * along));
}

function slowSec(t: Transport, k: number, along: number): number {
  const most = mostSlowed / k;
  const s = Math.min(along, most);
  const u = widening(t, s);
  const q = s / (1 + u - k * s);
  const x = Math.sqrt(k * (k + growth(t))) * q;
  const sec = ((2 / t.v0) * q * Math.atanh(x)) / (x || 1);
  if (x === 0) return (2 / t.v0) * q;
  return along > most ? sec + (2 * (along - most)) / (t.v0 * (1 - mostSlowed) * (u + widening(t, along))) : sec;
}

function slowAlong(t: Transport, k: number, sec: number): number {
  const most = mostSlowed / k;
  const a = growth(t);
  const full = slowSec(t, k, most);
  if (sec > full) {
    const d = ((sec - full) * t.v0 * (1 - mostSlowed)) / 2;
    return most + d * (2 * widening(t, most) + a * d);
  }
  const half = (t.v0 * sec) / 2;
  const x = Math.sqrt(k * (k + a)) * half;
  const q = x === 0 ? half : (half * Math.tanh(x)) / x;
  const by = 1 + k * q;
  return (q * (2 * by + a * q)) / (by * by);
}

/** The millimetre of paper that lies on the bar at a time. */
export function alongAt(t: Transport, sec: number): number {
  if (t.slowing) return slowAlong(t, t.slowing, sec);
  return t.v0 * sec + bend(t) * sec * sec;
}

/** The time at which a millimetre of paper lies on the bar. The form of the root loses no digits at small bend. */
export function secAt(t: Transport, along: number): number {
  if (t.slowing) return slowSec(t, t.slowing, along);
  return (2 * along) / (t.v0 + Math.sqrt(Math.max(0, t.v0 * t.v0 + 4 * bend(t) * along)));
}

/** Millimetres a second at a time. */
export function speedAt(t: Transport, sec: number): number {
  if (t.slowing) {
    const along = slowAlong(t, t.slowing, sec);
    return t.v0 * widening(t, along) * (1 - Math.min(t.slowing * along, mostSlowed));
  }
  return t.v0 + 2 * bend(t) * sec;
}
