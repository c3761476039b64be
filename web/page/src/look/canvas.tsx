// A canvas that fills its place and is painted on the page's clock.
import type { JSX } from "preact";
import { useEffect, useRef } from "preact/hooks";
import { addPainter, repaint } from "./frames";

export type Paint = (ctx: CanvasRenderingContext2D, width: number, height: number) => void;

interface Props extends Omit<JSX.IntrinsicElements["canvas"], "ref"> {
  paint: Paint;
  element?: (canvas: HTMLCanvasElement) => void;
}

/** Widths and heights handed to paint are those of the style sheet; the ratio of the screen is taken care of. */
export function Canvas({ paint, element, ...rest }: Props) {
  const ref = useRef<HTMLCanvasElement>(null);
  const latest = useRef(paint);
  latest.current = paint;
  useEffect(() => {
    const canvas = ref.current!;
    const ctx = canvas.getContext("2d", { alpha: true })!;
    element?.(canvas);
    let width = 0;
    let height = 0;
    const sizes = new ResizeObserver(() => {
      width = canvas.clientWidth;
      height = canvas.clientHeight;
      repaint();
    });
    sizes.observe(canvas);
    const remove = addPainter(() => {
      if (width === 0 || height === 0) return;
      const ratio = devicePixelRatio;
      const w = Math.round(width * ratio);
      const h = Math.round(height * ratio);
      if (canvas.width !== w || canvas.height !== h) {
        canvas.width = w;
        canvas.height = h;
      }
      ctx.setTransform(ratio, 0, 0, ratio, 0, 0);
      ctx.clearRect(0, 0, width, height);
      latest.current(ctx, width, height);
    });
    return () => {
      remove();
      sizes.disconnect();
    };
  }, []);
  useEffect(repaint);
  return <canvas ref={ref} {...rest} />;
}

export const sans = '"Rollwright Sans", sans-serif';
export const serif = '"Rollwright Serif", serif';
