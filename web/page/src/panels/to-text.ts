// The way from anywhere to a place of the text.
import { showLeft } from "../state";
import { editor, reveal } from "../text/editor";

export function toText(from: number, to: number): void {
  showLeft("text");
  reveal(from, to);
  editor.focus();
}
