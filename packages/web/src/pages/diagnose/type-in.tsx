import type { TypeIn as Form } from "@rouse/core/diagnose";
import { type KeyboardEvent, useEffect, useMemo, useRef, useState } from "react";
import { onKeys } from "../../parts/on-keys.ts";

const FORMS: readonly (readonly [Form, string])[] = [
  ["hex", "Hex, for a monitor"],
  ["data", "Numbered DATA lines"],
];
/** Lines shown before and behind the one at hand. */
const BEFORE = 2;
const BEHIND = 4;

const keyOf = (id: string, form: Form): string => `rouse-type-in-${id}-${form}`;

/** A program line by line, large, for a person at the keyboard of the old machine; where they are is kept. */
export function TypeIn({ id, forms }: { id: string; forms: Readonly<Record<Form, string>> }) {
  const [form, setForm] = useState<Form>("hex");
  const lines = useMemo(() => forms[form].split("\n").filter(Boolean), [forms, form]);
  const [line, setLine] = useState(0);
  const place = useRef<HTMLDivElement>(null);
  useEffect(() => {
    const kept = Number(localStorage.getItem(keyOf(id, form)));
    setLine(Number.isInteger(kept) && kept >= 0 && kept < lines.length ? kept : 0);
  }, [id, form, lines]);
  const goTo = (to: number): void => {
    const next = Math.min(lines.length - 1, Math.max(0, to));
    setLine(next);
    localStorage.setItem(keyOf(id, form), String(next));
  };
  const press = (event: KeyboardEvent): void =>
    onKeys(event, [
      ["ArrowDown", () => goTo(line + 1)],
      ["Enter", () => goTo(line + 1)],
      ["ArrowUp", () => goTo(line - 1)],
      ["PageDown", () => goTo(line + 10)],
      ["PageUp", () => goTo(line - 10)],
      ["Home", () => goTo(0)],
      ["End", () => goTo(lines.length - 1)],
    ]);
  const first = Math.max(0, line - BEFORE);
  const shown = lines.slice(first, line + BEHIND + 1);
  return (
    <div className="d-type-in" ref={place}>
      <div className="fields">
        <label className="field">
          <span>As</span>
          <select value={form} onChange={(event) => setForm(event.target.value as Form)}>
            {FORMS.map(([key, title]) => (
              <option key={key} value={key}>
                {title}
              </option>
            ))}
          </select>
        </label>
      </div>
      <p className="quiet">
        {form === "hex"
          ? "Behind the bar stands the sum of the line's bytes, which is not typed."
          : "The last number of a line is the sum of its bytes: RUN says which line is wrong."}
      </p>
      <div
        className="d-lines"
        role="application"
        // biome-ignore lint/a11y/noNoninteractiveTabindex: an application takes the focus; the arrow keys move in it
        tabIndex={0}
        aria-label="Lines to type. Down or Enter goes to the next line, Up to the one before, Page Up and Page Down by ten."
        onKeyDown={press}
      >
        {shown.map((each, index) => {
          const number = first + index;
          return (
            <p key={number} className={number === line ? "is-at" : ""}>
              {each}
            </p>
          );
        })}
      </div>
      <p className="sr-only" role="status">
        {lines[line]}
      </p>
      <div className="buttons">
        <button type="button" className="button is-quiet" disabled={line === 0} onClick={() => goTo(line - 1)}>
          Line before
        </button>
        <button
          type="button"
          className="button is-quiet"
          disabled={line === lines.length - 1}
          onClick={() => goTo(line + 1)}
        >
          Next line
        </button>
        <span className="quiet" data-testid="line">
          line {(line + 1).toLocaleString("en-GB")} of {lines.length.toLocaleString("en-GB")}
        </span>
      </div>
    </div>
  );
}
