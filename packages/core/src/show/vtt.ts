import { InputError } from "../errors/index.ts";
import { type Capture, capturedBytes } from "./capture.ts";
import type { FollowedScene } from "./follow.ts";
import { PlainText } from "./plain.ts";
import { piecesIn } from "./replay.ts";

/** A cue: seconds of the capture until it is shifted, text of one line or more. */
export interface Cue {
  start: number;
  end: number;
  text: string;
}

/** A place in the capture that can also be found on the camera. */
export type Mark = { byte: number } | { appears: string } | "clap";

/** The time of a mark in the capture, in seconds. A clap is the first note that says so. Throws an `InputError` without it. */
function timeOfMark(capture: Capture, mark: Mark): number {
  const lacking = (sentence: string): never => {
    throw new InputError("no-mark", sentence);
  };
  if (mark === "clap") {
    const clap = capture.entries.find((entry) => "note" in entry && /\bclap\b/i.test(entry.note));
    return clap?.t ?? lacking("No note in this capture speaks of a clap.");
  }
  const { bytes, times } = capturedBytes(capture, "in");
  if ("byte" in mark)
    return (
      times[mark.byte] ??
      lacking(`The capture has ${bytes.length} bytes; there is no byte ${mark.byte} (they count from 0).`)
    );
  const wanted = [...mark.appears].map((each) => each.charCodeAt(0));
  const at = bytes.findIndex((_, from) => wanted.every((code, index) => (bytes[from + index]! & 0x7f) === code));
  if (at < 0 || wanted.length === 0) return lacking(`“${mark.appears}” does not appear in this capture.`);
  return times[at + wanted.length - 1]!;
}

/** Seconds to add to a time of the capture to have that of the camera, which saw the mark at `seen`. */
export const offsetFrom = (capture: Capture, mark: Mark, seen: number): number => seen - timeOfMark(capture, mark);

/** Lines that begin this near to the first of a cue are in it; a cue stays this long after its last character; s. */
const WINDOW = 2;
const STAYS = 4;

/** Captions of what the machine printed: each line from its first character on, lines near to each other in one cue. */
export function captionCues(capture: Capture): Cue[] {
  const lines: { start: number; end: number; text: string }[] = [];
  let line: (typeof lines)[number] | undefined;
  const plain = new PlainText(capture.head.frame);
  for (const { t, bytes } of piecesIn(capture))
    for (const character of plain.take(bytes)) {
      if (character === "\n") line = undefined;
      else if (character === "\b") {
        if (line) line.text = line.text.slice(0, -1);
      } else if (line) {
        line.text += character;
        line.end = t;
      } else if (character !== " ") {
        line = { start: t, end: t, text: character };
        lines.push(line);
      }
    }
  const cues: Cue[] = [];
  for (const { start, end, text } of lines) {
    const last = cues.at(-1);
    if (last && start - last.start < WINDOW) {
      last.text += `\n${text.trimEnd()}`;
      last.end = Math.max(last.end, end);
    } else cues.push({ start, end, text: text.trimEnd() });
  }
  return cues.map((cue, index) => ({
    ...cue,
    end: Math.max(cue.end, Math.min(cue.end + STAYS, cues[index + 1]?.start ?? Number.POSITIVE_INFINITY)),
  }));
}

/** Chapters from the scenes that were followed, else from the capture's notes, else from the lines that were typed. */
export function chapterCues(capture: Capture, followed?: readonly FollowedScene[]): Cue[] {
  const last = capture.entries.reduce((most, each) => Math.max(most, each.t), 0) + 1;
  const starts = followed?.map(({ scene, from }) => ({ start: from, text: scene.name })) ?? notedOrTyped(capture);
  return starts
    .map(({ start, text }, index) => ({ start, end: starts[index + 1]?.start ?? last, text }))
    .filter((each) => each.end > each.start);
}

function notedOrTyped(capture: Capture): { start: number; text: string }[] {
  const notes = capture.entries.flatMap((entry) => ("note" in entry ? [{ start: entry.t, text: entry.note }] : []));
  if (notes.length > 0) return notes;
  const { bytes, times } = capturedBytes(capture, "out");
  const typed: { start: number; text: string }[] = [];
  let from = 0;
  for (let at = 0; at < bytes.length; at++) {
    if (bytes[at] !== 0x0d && bytes[at] !== 0x0a) continue;
    const text = String.fromCharCode(...bytes.subarray(from, at).filter((each) => each >= 0x20 && each < 0x7f));
    if (text.trim() !== "") typed.push({ start: times[from]!, text });
    from = at + 1;
  }
  return typed;
}

/** `hh:mm:ss.ttt` (W3C WebVTT, 4.2). */
function timestamp(milliseconds: number): string {
  const part = (value: number, digits: number) => String(value).padStart(digits, "0");
  return `${part(Math.floor(milliseconds / 3_600_000), 2)}:${part(Math.floor(milliseconds / 60_000) % 60, 2)}:${part(Math.floor(milliseconds / 1000) % 60, 2)}.${part(milliseconds % 1000, 3)}`;
}

/** Text of a cue without anything that WebVTT takes for a tag, a reference, an arrow or the cue's end. */
const payload = (text: string): string =>
  text
    .split(/\r\n|[\r\n\u0085\u2028\u2029]/)
    .map((line) => line.replace(/[\u0000-\u001f\u007f-\u009f]/g, "").trim())
    .filter((line) => line !== "")
    .join("\n")
    .replaceAll("&", "&amp;")
    .replaceAll("<", "&lt;")
    .replaceAll(">", "&gt;");

/**
 * Cues as a WebVTT file (W3C), shifted by `offset` seconds. What lies before the camera's zero is left out, or cut to it.
 * Starts never go back, and every cue lasts a millisecond at least, as the format asks.
 */
export function writeVtt(cues: readonly Cue[], offset = 0): string {
  let earliest = 0;
  const blocks: string[] = [];
  for (const cue of [...cues].sort((a, b) => a.start - b.start)) {
    const text = payload(cue.text);
    const end = Math.round((cue.end + offset) * 1000);
    const begins = Math.round((cue.start + offset) * 1000);
    if (text === "" || Math.max(end, begins + 1) <= 0) continue;
    const start = Math.max(earliest, begins);
    earliest = start;
    blocks.push(`${blocks.length + 1}\n${timestamp(start)} --> ${timestamp(Math.max(end, start + 1))}\n${text}\n`);
  }
  return `WEBVTT\n${blocks.map((each) => `\n${each}`).join("")}`;
}
