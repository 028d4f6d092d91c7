import { HighlightStyle, syntaxHighlighting } from "@codemirror/language";
import type { Extension } from "@codemirror/state";
import { EditorView } from "@codemirror/view";
import { tags } from "@lezer/highlight";

/** The editor in the workbench's own colours. */
export const look: Extension = [
  EditorView.theme({
    "&": { height: "100%", backgroundColor: "var(--sheet)", color: "var(--ink)", fontSize: "13.5px" },
    "&.cm-focused": { outline: "3px solid var(--accent)", outlineOffset: "-3px" },
    ".cm-scroller": { fontFamily: "var(--mono)", lineHeight: "1.55" },
    ".cm-content": { caretColor: "var(--ink)", padding: "8px 0" },
    ".cm-cursor": { borderLeftColor: "var(--ink)", borderLeftWidth: "2px" },
    ".cm-gutters": { backgroundColor: "var(--raised)", color: "var(--muted)", borderRight: "1px solid var(--line)" },
    ".cm-activeLine, .cm-activeLineGutter": { backgroundColor: "color-mix(in oklab, var(--accent) 8%, transparent)" },
    ".cm-selectionBackground, &.cm-focused > .cm-scroller > .cm-selectionLayer .cm-selectionBackground": {
      backgroundColor: "color-mix(in oklab, var(--accent) 26%, transparent)",
    },
    ".cm-tooltip": {
      backgroundColor: "var(--sheet)",
      color: "var(--ink)",
      border: "1px solid var(--line-strong)",
      borderRadius: "6px",
      boxShadow: "0 8px 24px var(--shadow)",
      overflow: "clip",
    },
    ".cm-tooltip.cm-completionInfo": { padding: "8px 12px", maxWidth: "26rem", fontFamily: "var(--humanist)" },
    ".cm-tooltip-autocomplete > ul > li": { padding: "3px 10px" },
    ".cm-tooltip-autocomplete > ul > li[aria-selected]": {
      backgroundColor: "var(--accent)",
      color: "var(--on-accent)",
    },
    ".cm-completionDetail": { fontStyle: "normal", opacity: "0.8", marginLeft: "1.2em", fontFamily: "var(--humanist)" },
    ".cm-completionMatchedText": { textDecoration: "none", fontWeight: "700" },
    ".cm-diagnostic": { padding: "7px 12px", fontFamily: "var(--humanist)", whiteSpace: "pre-wrap", maxWidth: "34rem" },
    ".cm-diagnostic-error": { borderLeft: "5px solid var(--stops)" },
    ".cm-diagnostic-warning": { borderLeft: "5px solid var(--tight)" },
    ".cm-diagnostic-info": { borderLeft: "5px solid var(--unknown)" },
    ".cm-lintRange-error": { backgroundImage: "none", borderBottom: "2px solid var(--stops)" },
    ".cm-lintRange-warning": { backgroundImage: "none", borderBottom: "2px dashed var(--tight)" },
    ".cm-lintRange-info": { backgroundImage: "none", borderBottom: "2px dotted var(--unknown)" },
    ".cm-lint-marker": { width: "0.8em", height: "0.8em" },
    ".cm-lint-marker-error": { content: "none", backgroundColor: "var(--stops)" },
    ".cm-lint-marker-warning": {
      content: "none",
      backgroundColor: "var(--tight)",
      clipPath: "polygon(50% 0, 100% 100%, 0 100%)",
    },
    ".cm-lint-marker-info": { content: "none", border: "2px dashed var(--unknown)", borderRadius: "50%" },
  }),
  syntaxHighlighting(
    HighlightStyle.define([
      { tag: tags.definition(tags.propertyName), color: "var(--accent)" },
      { tag: tags.propertyName, color: "var(--accent)" },
      { tag: tags.comment, color: "var(--muted)", fontStyle: "italic" },
      { tag: [tags.string, tags.attributeValue], color: "var(--ink)" },
      { tag: tags.punctuation, color: "var(--muted)" },
      { tag: [tags.meta, tags.keyword], color: "var(--teal)" },
    ]),
  ),
];
