// The look of the text.
import { HighlightStyle, syntaxHighlighting } from "@codemirror/language";
import { EditorView } from "@codemirror/view";
import { tags } from "@lezer/highlight";

const style = HighlightStyle.define([
  { tag: tags.lineComment, color: "var(--second)", fontStyle: "italic", fontFamily: "var(--serif)", fontSize: "1.08em" },
  { tag: tags.blockComment, color: "var(--second)", fontStyle: "italic", fontFamily: "var(--serif)", fontSize: "1.08em" },
  { tag: tags.typeName, color: "var(--brass-ink)", fontWeight: "600" },
  { tag: tags.labelName, color: "var(--ink)", fontWeight: "600" },
  { tag: tags.definition(tags.propertyName), color: "var(--ink)" },
  { tag: tags.string, color: "var(--text-string)" },
  { tag: tags.number, color: "var(--text-number)" },
  { tag: tags.function(tags.variableName), color: "var(--brass-ink)" },
  { tag: tags.bool, color: "var(--text-number)" },
]);

const dress = EditorView.theme({
  "&": { height: "100%", backgroundColor: "transparent", color: "var(--ink)", fontSize: "var(--text-size)" },
  ".cm-scroller": { fontFamily: "var(--mono)", lineHeight: "1.55", fontVariantNumeric: "tabular-nums" },
  ".cm-content": { caretColor: "var(--brass-ink)", padding: "10px 0 40vh" },
  ".cm-cursor": { borderLeftColor: "var(--brass-ink)", borderLeftWidth: "2px" },
  "&.cm-focused": { outline: "none" },
  "&.cm-focused .cm-selectionBackground, .cm-selectionBackground": { backgroundColor: "var(--selection) !important" },
  ".cm-gutters": { backgroundColor: "transparent", color: "var(--second)", border: "none" },
  ".cm-lit": { backgroundColor: "var(--selection)", boxShadow: "0 0 0 2px var(--brass)", borderRadius: "2px" },
  ".cm-activeLine, .cm-activeLineGutter": { backgroundColor: "var(--line-now)" },
  ".cm-matchingBracket": { backgroundColor: "var(--selection) !important", outline: "none" },
  ".cm-tooltip": {
    backgroundColor: "var(--panel)",
    border: "1px solid var(--line)",
    borderRadius: "6px",
    boxShadow: "var(--lift)",
    color: "var(--ink)",
    fontFamily: "var(--sans)",
  },
  ".cm-tooltip-autocomplete ul li[aria-selected]": { backgroundColor: "var(--brass)", color: "var(--on-brass)" },
  ".cm-tooltip-autocomplete ul li[aria-selected] .cm-completionDetail": { color: "var(--on-brass)" },
  ".cm-completionDetail": { color: "var(--second)", fontStyle: "normal", marginLeft: "1em" },
  ".cm-completionIcon": { display: "none" },
  ".cm-diagnostic": { padding: "6px 10px", whiteSpace: "pre-wrap", maxWidth: "44ch" },
  ".cm-diagnostic-error": { borderLeft: "3px solid var(--red)" },
  ".cm-diagnostic-warning": { borderLeft: "3px solid var(--amber)" },
  ".cm-diagnostic-info": { borderLeft: "3px solid var(--brass)" },
  ".cm-lintRange-error": { backgroundImage: "none", borderBottom: "2px solid var(--red)" },
  ".cm-lintRange-warning": { backgroundImage: "none", borderBottom: "2px dotted var(--amber)" },
  ".cm-lintRange-info": { backgroundImage: "none" },
  ".cm-panels": { backgroundColor: "var(--panel)", color: "var(--ink)" },
  ".cm-textfield": { backgroundColor: "var(--field)", color: "var(--ink)", border: "1px solid var(--line)" },
  ".cm-button": { backgroundImage: "none", backgroundColor: "var(--field)", color: "var(--ink)", border: "1px solid var(--line)" },
});

export const dressed = [dress, syntaxHighlighting(style)];
