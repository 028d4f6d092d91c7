import { autocompletion, closeBrackets, closeBracketsKeymap, completionKeymap } from "@codemirror/autocomplete";
import { defaultKeymap, history, historyKeymap, indentWithTab } from "@codemirror/commands";
import { yaml } from "@codemirror/lang-yaml";
import { bracketMatching, indentOnInput, indentUnit } from "@codemirror/language";
import { lintGutter, lintKeymap, setDiagnostics } from "@codemirror/lint";
import { EditorState, type Extension, Transaction } from "@codemirror/state";
import {
  drawSelection,
  EditorView,
  highlightActiveLine,
  highlightActiveLineGutter,
  highlightSpecialChars,
  keymap,
  lineNumbers,
} from "@codemirror/view";
import { useEffect, useRef } from "react";
import { cspNonce } from "../../app/nonce.ts";
import { job } from "../../job/job.ts";
import type { WorkbenchReport } from "../../job/types.ts";
import { completeBench } from "./complete.ts";
import { look } from "./look.ts";
import { markersOf } from "./markers.ts";
import { placeOfKey } from "./place.ts";

const saveNow = (): boolean => {
  void job.save();
  return true;
};

const extensions: Extension = [
  EditorView.cspNonce.of(cspNonce()),
  lineNumbers(),
  highlightActiveLineGutter(),
  highlightActiveLine(),
  highlightSpecialChars(),
  history(),
  drawSelection(),
  indentOnInput(),
  indentUnit.of("  "),
  bracketMatching(),
  closeBrackets(),
  EditorView.lineWrapping,
  yaml(),
  autocompletion({ override: [completeBench], icons: false }),
  lintGutter(),
  look,
  EditorView.contentAttributes.of({ "aria-label": "Bench file", tabindex: "0" }),
  keymap.of([
    { key: "Mod-s", preventDefault: true, run: saveNow },
    ...closeBracketsKeymap,
    ...completionKeymap,
    ...lintKeymap,
    ...historyKeymap,
    ...defaultKeymap,
    indentWithTab,
  ]),
  EditorView.updateListener.of(({ docChanged, state }) => {
    if (docChanged) job.write(state.doc.toString());
  }),
];

/** Kept while other pages are open, so that undo goes back over a visit to them. */
let kept: EditorState | undefined;

/** The editor. It follows the job's text when that changes elsewhere; `at` is a place to go to. */
export default function Editor({
  at,
  report,
}: {
  at: { key: string | null; line: number | null };
  report: WorkbenchReport | null;
}) {
  const place = useRef<HTMLDivElement>(null);
  const view = useRef<EditorView | null>(null);

  useEffect(() => {
    if (!place.current) return;
    const made = new EditorView({
      parent: place.current,
      state: kept ?? EditorState.create({ doc: job.get().text, extensions }),
    });
    view.current = made;
    const follow = (): void => showText(made, job.get().text);
    follow();
    const leave = job.subscribe(follow);
    return () => {
      leave();
      kept = made.state;
      made.destroy();
    };
  }, []);

  useEffect(() => {
    const now = view.current;
    if (now && report) now.dispatch(setDiagnostics(now.state, markersOf(report, now.state.doc)));
  }, [report]);

  const { key, line } = at;
  useEffect(() => {
    const now = view.current;
    if (!now || (key === null && line === null)) return;
    const { doc } = now.state;
    const to = key === null ? { line: line ?? 1, column: 1 } : placeOfKey(doc.toString(), key);
    const found = doc.line(Math.min(doc.lines, Math.max(1, to.line)));
    const target = Math.min(found.to, found.from + to.column - 1);
    now.dispatch({
      selection: { anchor: target, head: doc.lineAt(target).to },
      effects: EditorView.scrollIntoView(target, { y: "center" }),
    });
    now.focus();
  }, [key, line]);

  return <div className="editor" ref={place} />;
}

/** Puts a text from elsewhere in place of the editor's own, changing only what differs; it can be undone. */
function showText(view: EditorView, text: string): void {
  const own = view.state.doc.toString();
  if (own === text) return;
  let from = 0;
  while (from < own.length && from < text.length && own[from] === text[from]) from++;
  let [ownEnd, end] = [own.length, text.length];
  while (ownEnd > from && end > from && own[ownEnd - 1] === text[end - 1]) {
    ownEnd--;
    end--;
  }
  view.dispatch({
    changes: { from, to: ownEnd, insert: text.slice(from, end) },
    annotations: Transaction.userEvent.of("input.outside"),
  });
}
