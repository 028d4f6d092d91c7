/** Reads sessions and makes their exports beside the page, which stays at hand meanwhile. */
import { loadCatalogue } from "@rouse/core/catalogue";
import { InputError } from "@rouse/core/errors";
import {
  type Capture,
  captionCues,
  chapterCues,
  followScript,
  type Mark,
  offsetFrom,
  readCapture,
  readStretch,
  runsOf,
  type Script,
  SessionScreens,
  screenSvg,
  sessionHtml,
  sessionText,
  writeVtt,
} from "@rouse/core/show";
import { readScript } from "@rouse/core/show/script";
import { type Ability, abilityOf, idealAbility } from "@rouse/core/terminal";
import type { Answer, Asked, ExportWish, KeptScene, Session, Shown, Work } from "./types.ts";

let opened: { capture: Capture; ability: Ability; screens: SessionScreens } | undefined;
let script: Script | undefined;

function scriptOf(text: string): Script | undefined {
  try {
    return text === "" ? undefined : readScript(text);
  } catch (error) {
    // The script has a place of its own on the page to say so.
    if (error instanceof InputError) return undefined;
    throw error;
  }
}

function open({ bytes, terminal }: Work["open"]["asked"]): Session {
  const capture = readCapture(new Uint8Array(bytes));
  const { terminals } = loadCatalogue();
  const found = terminals.get(terminal);
  const ability = found ? abilityOf(found) : idealAbility();
  const screens = new SessionScreens(capture, ability);
  opened = { capture, ability, screens };
  return {
    rows: ability.rows,
    columns: ability.columns,
    times: screens.times.slice(),
    first: screenOf(0),
    terminals: [...terminals.values()].map(({ id, title }) => [id, title] as const),
    spoilt: capture.bad.length + (capture.torn === undefined ? 0 : 1),
  };
}

function demandOpened(): NonNullable<typeof opened> {
  if (!opened) throw new InputError("no-capture", "No session is open.");
  return opened;
}

function screenOf(seconds: number): Shown {
  const screen = demandOpened().screens.at(seconds);
  const { row, column } = screen.cursor;
  return { rows: Array.from({ length: screen.rows }, (_, index) => runsOf(screen, index)), cursor: [row, column] };
}

function follow(text: string): readonly KeptScene[] | null {
  const { capture } = demandOpened();
  script = scriptOf(text);
  if (script === undefined) return null;
  return followScript(script, capture).map(({ scene, from, seen, wait }) => ({
    name: scene.name,
    from,
    expects: scene.expect ?? null,
    seen: seen !== undefined,
    waited: wait ?? null,
  }));
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

function make({ kind, title, speed, longestWait, at, mark }: ExportWish): string {
  const { capture, ability, screens } = demandOpened();
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
      return screenSvg(screens.at(at), title);
    case "text":
      return sessionText(capture, ability);
  }
}

function answer(data: Asked): Work[keyof Work]["told"] {
  switch (data.kind) {
    case "open":
      return open(data.asked);
    case "screen":
      return screenOf(data.asked);
    case "follow":
      return follow(data.asked);
    case "make":
      return make(data.asked);
  }
}

self.onmessage = ({ data }: MessageEvent<Asked>) => {
  const { id } = data;
  const tell = (told: Answer): void => self.postMessage(told);
  try {
    tell({ id, told: answer(data) });
  } catch (error) {
    const problem = error instanceof InputError ? error.message : "Something went wrong inside the page; load it anew.";
    tell({ id, problem });
  }
};
