import { type KeyboardEvent, useEffect, useRef, useState } from "react";
import { ScreenRows } from "../../parts/screen-rows.tsx";
import { counted } from "../../parts/words.ts";
import { controlKey, typedText } from "./keys.ts";
import { machine } from "./machine.ts";
import type { About, Shown } from "./types.ts";

/** One terminal in its true number of columns and rows, with the keyboard of whoever sits at it. */
export function Terminal({ about, shown }: { about: About["terminals"][number]; shown: Shown }) {
  const keys = useRef<HTMLTextAreaElement>(null);
  const [isHeard, setHeard] = useState(false);
  const [withControl, setWithControl] = useState(false);
  const { name, title, columns, rows, paper } = about;

  const send = (text: string): void => {
    if (text !== "") machine.ask({ kind: "type", text, terminal: name });
  };
  // React's own event of this name comes too late and without its kind.
  useEffect(() => {
    const box = keys.current;
    if (!box) return;
    const hear = (event: InputEvent): void => {
      event.preventDefault();
      const text = typedText(event);
      const control = withControl && text.length === 1 ? controlKey(text) : undefined;
      if (withControl) setWithControl(false);
      if (text !== "") machine.ask({ kind: "type", text: control ?? text, terminal: name });
    };
    box.addEventListener("beforeinput", hear);
    return () => box.removeEventListener("beforeinput", hear);
  }, [name, withControl]);

  const press = (event: KeyboardEvent): void => {
    if (event.metaKey || event.altKey || event.nativeEvent.isComposing) return;
    const text = event.ctrlKey
      ? controlKey(event.key)
      : { Enter: "\r", Backspace: "\b", Escape: "\u001b", Delete: "\u007f" }[event.key];
    if (text === undefined) return;
    event.preventDefault();
    send(text);
  };
  /** A click that marked text is for copying it. */
  const focus = (): void => {
    if (document.getSelection()?.isCollapsed !== false) keys.current?.focus({ preventScroll: true });
  };

  return (
    <section
      className={`terminal${isHeard ? " is-heard" : ""}`}
      aria-label={name}
      style={{ flex: `${columns} 1 ${columns / 2}rem` }}
    >
      <div className="terminal-head">
        <h2>{name}</h2>
        <span className="quiet">
          {title}; {columns} columns, {rows} rows
        </span>
      </div>
      {/* biome-ignore lint/a11y/noStaticElementInteractions: a larger place to click; the keyboard itself takes the focus */}
      {/* biome-ignore lint/a11y/useKeyWithClickEvents: as above */}
      <div className="terminal-glass" onClick={focus} data-testid={`screen ${name}`}>
        <ScreenRows columns={columns} rows={shown.rows} cursor={shown.cursor} paper={paper} />
      </div>
      <div className="terminal-keys">
        <textarea
          ref={keys}
          className="terminal-typed"
          aria-label={`Keyboard of ${name}`}
          placeholder={isHeard ? "Keys go to the machine; Tab leaves" : "Click or tap here, and type"}
          rows={1}
          autoCapitalize="none"
          autoComplete="off"
          autoCorrect="off"
          spellCheck={false}
          onKeyDown={press}
          onFocus={() => setHeard(true)}
          onBlur={() => setHeard(false)}
        />
        <button
          type="button"
          className="button is-quiet"
          aria-pressed={withControl}
          title="The next letter with Ctrl"
          onClick={() => {
            setWithControl(!withControl);
            keys.current?.focus({ preventScroll: true });
          }}
        >
          Ctrl
        </button>
        {(
          [
            ["Return", "\r"],
            ["Esc", "\u001b"],
            ["Tab", "\t"],
          ] as const
        ).map(([label, text]) => (
          <button key={label} type="button" className="button is-quiet" onClick={() => send(text)}>
            {label}
          </button>
        ))}
      </div>
      <p className="quiet">
        {counted(shown.received, "character")} received
        {shown.faults > 0 && <strong>, {shown.faults.toLocaleString("en-GB")} of them with errors</strong>}
        {shown.bells > 0 && `; the bell rang ${counted(shown.bells, "time")}`}
      </p>
    </section>
  );
}
