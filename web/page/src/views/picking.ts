// Who wants the hole that is chosen next on the paper; null: it is the voice that
// is chosen, as always.
import { Cell } from "../cell";

export const picking = new Cell<((slot: number) => void) | null>(null);
