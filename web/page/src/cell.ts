// A value that the page shows, and whoever wants to know of its changes.
import { useEffect, useState } from "preact/hooks";

export class Cell<T> {
  private readonly watchers = new Set<(value: T) => void>();
  constructor(private held: T) {}

  get value(): T {
    return this.held;
  }

  set(value: T): void {
    if (Object.is(value, this.held)) return;
    this.held = value;
    for (const tell of [...this.watchers]) tell(value);
  }

  update(change: (value: T) => T): void {
    this.set(change(this.held));
  }

  watch(tell: (value: T) => void): () => void {
    this.watchers.add(tell);
    return () => this.watchers.delete(tell);
  }
}

/** The value of a cell inside a component, which is drawn again when it changes. */
export function use<T>(cell: Cell<T>): T {
  const [value, setValue] = useState(() => cell.value);
  useEffect(() => {
    setValue(() => cell.value); // it may have changed between drawing and now
    return cell.watch((v) => setValue(() => v));
  }, [cell]);
  return value;
}
