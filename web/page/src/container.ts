// Takes the server's binary answers apart: the length of a JSON text, that
// text, then arrays at multiples of eight bytes, all little-endian.

export type Numbers = Float64Array | Float32Array | Int32Array | Uint16Array | Uint8Array;

export interface Answer {
  json: Record<string, unknown>;
  arrays: Record<string, Numbers>;
}

const kinds = { f64: Float64Array, f32: Float32Array, i32: Int32Array, u16: Uint16Array, u8: Uint8Array } as const;

interface Listed {
  name: string;
  type: keyof typeof kinds;
  length: number;
  offset: number;
}

/** Views into the buffer: nothing is copied. */
export function decode(buffer: ArrayBuffer): Answer {
  const length = new DataView(buffer).getUint32(0, true);
  const json = JSON.parse(new TextDecoder().decode(new Uint8Array(buffer, 4, length)));
  const base = Math.ceil((4 + length) / 8) * 8;
  const arrays: Record<string, Numbers> = {};
  for (const a of json.arrays as Listed[]) arrays[a.name] = new kinds[a.type](buffer, base + a.offset, a.length);
  return { json, arrays };
}
