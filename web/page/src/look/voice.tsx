// How a voice is told from the others: by hue and by the pattern of its rim.
// Hues are those of M. Okabe and K. Ito, Color Universal Design (2008);
// drawings and sheets use the same ones in the same order.

const hues = ["#0072b2", "#d55e00", "#009e73", "#cc79a7", "#e69f00", "#56b4e9", "#f0e442", "#000000"];

/** Lengths on and off in widths of the line, for round ends; a dot is almost no length. */
const dashes = [[], [3, 3], [0.05, 2.2], [6, 3, 0.05, 3], [8, 4], [1.5, 2.5], [6, 2.5, 0.05, 2.5, 0.05, 2.5], [12, 3]];

export function hue(voice: number): string {
  return voice < 0 ? "#6a6157" : hues[voice % hues.length];
}

/** Whether the hue is so light that it needs an edge of ink on paper: yellow. */
export function pale(voice: number): boolean {
  return voice % hues.length === 6;
}

/** The rim's pattern for a line of the given width; when the hues come again they meet other patterns. */
export function pattern(voice: number, width: number): number[] {
  if (voice < 0) return [];
  return dashes[(voice + Math.floor(voice / hues.length)) % dashes.length].map((d) => d * width);
}

/** A patch of paper with one hole of the voice. */
export function Swatch({ voice }: { voice: number }) {
  return (
    <svg class="swatch" width="34" height="16" viewBox="0 0 34 16" aria-hidden="true">
      <rect class="swatch-paper" width="34" height="16" rx="2" />
      {pale(voice) && (
        <rect x="4" y="3" width="26" height="10" rx="5" fill="none" class="swatch-edge" stroke-width="3.4" stroke-linecap="round" stroke-dasharray={pattern(voice, 2).join(" ") || undefined} />
      )}
      <rect
        x="4"
        y="3"
        width="26"
        height="10"
        rx="5"
        fill="none"
        stroke={hue(voice)}
        stroke-width="2"
        stroke-linecap="round"
        stroke-dasharray={pattern(voice, 2).join(" ") || undefined}
      />
      <rect x="7" y="6" width="20" height="4" rx="2" class="swatch-hole" />
    </svg>
  );
}
