import type { Terminal } from "@xterm/xterm";
import { useEffect, useRef } from "react";
import { asTyped, forLine, forScreen } from "./codes.ts";
import type { Habits } from "./habits.ts";
import type { LineStream, Passed } from "./stream.ts";
import { coloursOf, letterSize, makeTerminal, openTerminal } from "./terminal.ts";
import "@xterm/xterm/css/xterm.css";

export interface ScreenActs {
  /** Characters U+0000 to U+00FF, one a byte. */
  onType(bytes: string): void;
  /** Text from the clipboard, to be sent at the pace. */
  onPaste(text: string): void;
  /** Characters that the code has no place for. */
  onLost(characters: string): void;
  onBreak(): void;
  onLeave(): void;
}

/** The session's text on a screen of the terminal's real columns and rows. */
export function Screen({
  columns,
  rows,
  stream,
  habits,
  takesKeys,
  answers,
  acts,
}: {
  columns: number;
  rows: number;
  stream: LineStream;
  habits: Habits;
  /** What is typed goes out. */
  takesKeys: boolean;
  /** This window answers what a program asks its terminal. */
  answers: boolean;
  acts: ScreenActs;
}) {
  const place = useRef<HTMLDivElement>(null);
  const terminal = useRef<Terminal | null>(null);
  // What the widget's listeners look at when something happens; it outlives renderings.
  const now = useRef({ habits, takesKeys, answers, acts });
  now.current = { habits, takesKeys, answers, acts };

  useEffect(() => {
    const inside = place.current;
    if (!inside) return;
    const type = (keys: string, way: "keys" | "answer"): void => {
      const { habits, takesKeys, acts } = now.current;
      if (!takesKeys) return;
      const { bytes, lost } = forLine(way === "keys" ? asTyped(keys, habits) : keys, habits.code);
      if (lost !== "") acts.onLost(lost);
      if (bytes !== "") acts.onType(bytes);
    };
    let isPast = false;
    const made = makeTerminal(
      { columns, rows },
      {
        typed: (keys) => type(keys, "keys"),
        answered: (reply) => {
          if (!isPast && now.current.answers) type(reply, "answer");
        },
        own: (event) => {
          if (!event.ctrlKey || event.altKey || event.metaKey) return false;
          const isBreak = event.code === "Pause";
          if (event.key !== "." && !isBreak) return false;
          event.preventDefault();
          if (event.type !== "keydown") return true;
          if (isBreak) now.current.acts.onBreak();
          else now.current.acts.onLeave();
          return true;
        },
      },
    );
    terminal.current = made;
    openTerminal(made, inside);
    const fit = (): void => {
      const { fontFamily } = getComputedStyle(inside);
      const outside = inside.parentElement?.clientWidth ?? 0;
      made.options.fontFamily = fontFamily;
      made.options.fontSize = letterSize(outside, columns, fontFamily);
      made.options.theme = coloursOf(inside);
    };
    fit();
    const observer = new ResizeObserver(fit);
    if (inside.parentElement) observer.observe(inside.parentElement);
    const dark = window.matchMedia("(prefers-color-scheme: dark)");
    window.addEventListener("rouse-theme", fit);
    dark.addEventListener("change", fit);

    const show = (passed: Passed | null): void => {
      if (passed === null) {
        made.reset();
        return;
      }
      const { habits } = now.current;
      if (passed.kind !== "in" && !(passed.kind === "out" && habits.echo)) return;
      // Parts are shown in order, each once the one before is through.
      made.write("", () => {
        isPast = passed.isPast;
      });
      made.write(forScreen(passed.bytes, habits.code));
    };
    for (const passed of stream.kept) show({ ...passed, isPast: true });
    const leave = stream.subscribe(show);

    // Before the widget takes it, which would send it all at once.
    const paste = (event: ClipboardEvent): void => {
      event.preventDefault();
      event.stopPropagation();
      const text = event.clipboardData?.getData("text/plain") ?? "";
      if (text !== "") now.current.acts.onPaste(text);
    };
    inside.addEventListener("paste", paste, { capture: true });
    return () => {
      leave();
      observer.disconnect();
      window.removeEventListener("rouse-theme", fit);
      dark.removeEventListener("change", fit);
      inside.removeEventListener("paste", paste, { capture: true });
      made.dispose();
      terminal.current = null;
    };
  }, [columns, rows, stream]);

  useEffect(() => {
    if (!terminal.current) return;
    terminal.current.options.disableStdin = !takesKeys;
    terminal.current.options.cursorBlink = false;
    terminal.current.options.screenReaderMode = habits.spoken;
  });
  return (
    <section className="line-screen" aria-label={`Screen of ${columns} columns and ${rows} rows`}>
      <div ref={place} className="line-screen-inside" />
    </section>
  );
}
