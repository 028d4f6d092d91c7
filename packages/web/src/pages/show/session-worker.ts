/** Reads sessions and makes their exports beside the page, which stays at hand meanwhile. */
import { loadCatalogue } from "@rouse/core/catalogue";
import { InputError } from "@rouse/core/errors";
import {
  type Capture,
  captionCues,
  chapterCues,
  followScript,
  framesOf,
  type Mark,
  offsetFrom,
  readCapture,
  readStretch,
  type Script,
  screenAt,
  screenSvg,
  sessionHtml,
  sessionText,
  writeVtt,
} from "@rouse/core/show";
import { readScript } from "@rouse/core/show/script";
import { type Ability, abilityOf, idealAbility } from "@rouse/core/terminal";
import type { Answer, Asked, ExportWish, Session } from "./types.ts";

let opened: { capture: Capture; ability: Ability; script: Script | undefined } | undefined;

function scriptOf(text: string): Script | undefined {
  try {
    return text === "" ? undefined : readScript(text);
  } catch (error) {
    // The script has a place of its own on the page to say so.
    if (error instanceof InputError) return undefined;
    throw error;
  }
}

function sessionOf(bytes: Uint8Array, terminal: string, scriptText: string): Session {
  const capture = readCapture(bytes);
  const { terminals } = loadCatalogue();
  const found = terminals.get(terminal);
  const ability = found ? abilityOf(found) : idealAbility();
  const script = scriptOf(scriptText);
  opened = { capture, ability, script };
  return {
    rows: ability.rows,
    columns: ability.columns,
    frames: framesOf(capture, ability),
    terminals: [...terminals.values()].map(({ id, title }) => [id, title] as const),
    spoilt: capture.bad.length + (capture.torn === undefined ? 0 : 1),
    kept:
      script === undefined
        ? null
        : followScript(script, capture).map(({ scene, from, seen, wait }) => ({
            name: scene.name,
            from,
            expects: scene.expect ?? null,
            seen: seen !== undefined,
            waited: wait ?? null,
          })),
    notes: capture.entries.flatMap((entry) => ("note" in entry ? [{ t: entry.t, text: entry.note }] : [])),
  };
}

function offsetOf(capture: Capture, mark: ExportWish["mark"]): number {
  if (!mark) return 0;
  const value = mark.value.trim();
  if (mark.by === "byte" && !/^\d{1,12}$/.test(value))
    throw new InputError("bad-mark", "The byte is a whole number; the first that came in is 0.");
  if (mark.by === "appears" && mark.value === "") throw new InputError("bad-mark", "Say which text appears.");
  const by: Mark = mark.by === "clap" ? "clap" : mark.by === "byte" ? { byte: Number(value) } : { appears: mark.value };
  return offsetFrom(capture, by, readStretch(mark.seen));
}

function made({ kind, title, speed, longestWait, at, mark }: ExportWish): string {
  if (!opened) throw new InputError("no-capture", "No session is open.");
  const { capture, ability, script } = opened;
  switch (kind) {
    case "html":
      return sessionHtml(capture, ability, {
        title,
        pace: { speed, ...(longestWait === null ? {} : { longestWait }) },
      });
    case "captions":
      return writeVtt(captionCues(capture), offsetOf(capture, mark));
    case "chapters":
      return writeVtt(chapterCues(capture, script && followScript(script, capture)), offsetOf(capture, mark));
    case "still":
      return screenSvg(screenAt(capture, ability, at), title);
    case "text":
      return sessionText(capture, ability);
  }
}

self.onmessage = ({ data }: MessageEvent<Asked>) => {
  const tell = (answer: Answer): void => self.postMessage(answer);
  try {
    if ("open" in data) {
      const { bytes, terminal, script } = data.open;
      tell({ id: data.id, session: sessionOf(new Uint8Array(bytes), terminal, script) });
    } else tell({ id: data.id, made: made(data.make) });
  } catch (error) {
    const problem = error instanceof InputError ? error.message : "Something went wrong inside the page; load it anew.";
    tell({ id: data.id, problem });
  }
};
