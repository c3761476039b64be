// Times to places on the paper and back, by the transport that the server
// gives: at constant speed s = v0 t; on a spool that grows by h a turn from
// radius r0, s = v0 t + h v0² t² / (4 π r0²).
import type { Transport } from "../work";

function bend(t: Transport): number {
  return t.spool ? (t.thickness * t.v0 * t.v0) / (4 * Math.PI * t.radius * t.radius) : 0;
}

/** The millimetre of paper that lies on the bar at a time. */
export function alongAt(t: Transport, sec: number): number {
  return t.v0 * sec + bend(t) * sec * sec;
}

/** The time at which a millimetre of paper lies on the bar. The form of the root loses no digits at small bend. */
export function secAt(t: Transport, along: number): number {
  return (2 * along) / (t.v0 + Math.sqrt(Math.max(0, t.v0 * t.v0 + 4 * bend(t) * along)));
}

/** Millimetres a second at a time. */
export function speedAt(t: Transport, sec: number): number {
  return t.v0 + 2 * bend(t) * sec;
}
