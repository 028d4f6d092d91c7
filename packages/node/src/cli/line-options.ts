import { visible } from "@rouse/core/bytes";
import { InputError } from "@rouse/core/errors";
import { type Frame, readFrame } from "@rouse/core/line";
import { formatValue, parseQuantity } from "@rouse/core/quantity";
import type { TransferEvent } from "@rouse/core/transfer";
import type { LineSettings } from "../devices/line/index.ts";
import type { Verb } from "./verb.ts";

/** Options of all verbs that open a port. */
export const LINE_OPTIONS: Verb["options"] = {
  rate: { type: "string", value: "RATE", short: "r", about: "bit/s; 9600 unless said" },
  frame: { type: "string", value: "FRAME", short: "f", about: "data bits, parity, stop bits; 8N1 unless said" },
  flow: {
    type: "string",
    value: "KIND",
    about: "flow control: none (unless said), lines (RTS, CTS) or characters (DC1, DC3)",
  },
};

/** A rate as people write it: `9600`, `9,600`, `9600 bit/s`. */
export function readRate(text: string): number {
  const plain = text.replaceAll(",", "");
  const rate = /^\d+(\.\d+)?$/.test(plain) ? Number(plain) : parseQuantity(text, "rate").value;
  if (rate > 0) return rate;
  throw new InputError("bad-rate", `“${text}” is not a rate; expected something like 9600.`);
}

export function lineSettings(values: Record<string, unknown>): LineSettings {
  const rate = typeof values.rate === "string" ? readRate(values.rate) : 9600;
  const frame: Frame = readFrame(typeof values.frame === "string" ? values.frame.toUpperCase() : "8N1");
  const flow = values.flow ?? "none";
  if (flow !== "none" && flow !== "lines" && flow !== "characters")
    throw new InputError("bad-flow", `“${String(flow)}” is no flow control; there is none, lines and characters.`);
  return { rate, frame, flow };
}

/** A whole number of an option, or what holds where it is not given. */
export function wholeNumber(values: Record<string, unknown>, name: string, otherwise: number): number {
  const text = values[name];
  if (text === undefined) return otherwise;
  if (typeof text === "string" && /^\d{1,9}$/.test(text)) return Number(text);
  throw new InputError("bad-number", `--${name} needs a whole number, not “${String(text)}”.`);
}

/** Ms of a pause: `20`, or `20 ms`. */
export function milliseconds(values: Record<string, unknown>, name: string, otherwise: number): number {
  const text = values[name];
  if (typeof text !== "string") return otherwise;
  return /^\d+(\.\d+)?$/.test(text) ? Number(text) : parseQuantity(text, "time").value * 1000;
}

/** Code of Ctrl and the character that an option gives: `_` is 1F. */
export function controlCode(character: string, option: string): number {
  const code = character.toUpperCase().charCodeAt(0);
  if (character.length === 1 && code >= 0x40 && code < 0x60) return code & 0x1f;
  throw new InputError("bad-key", `--${option} takes a letter or one of @ [ \\ ] ^ _, pressed with Ctrl.`);
}

/** “9600 bit/s, 8N1” */
export const settingsText = ({ rate, frame, flow }: LineSettings): string =>
  `${formatValue(rate, "rate")}, ${frame.text}${flow === "none" ? "" : `, flow control by ${flow}`}`;

/** Steady clock in ms. */
export const clock = (): number => performance.now();

/** Ctrl-C and a kill as a signal to stop cleanly, while `action` runs. */
export async function stoppable<T>(action: (signal: AbortSignal) => Promise<T>): Promise<T> {
  const stopping = new AbortController();
  const stop = () => stopping.abort();
  process.on("SIGINT", stop);
  process.on("SIGTERM", stop);
  try {
    return await action(stopping.signal);
  } finally {
    process.off("SIGINT", stop);
    process.off("SIGTERM", stop);
  }
}

/**
 * Shows a transfer as it goes: on a terminal as one line that changes, else as a line for each file. `called`: where the
 * protocol tells no name.
 */
export function transferProgress(json: boolean, called = ""): (event: TransferEvent) => void {
  const screen = process.stderr.isTTY === true;
  const began = clock();
  let shown = 0;
  let name = called;
  const put = (text: string) => process.stderr.write(screen ? `\r\u001b[K${text}` : `${text}\n`);
  return (event) => {
    if (json) {
      const { file, ...rest } = event.kind === "file ends" ? event : { ...event, file: undefined };
      process.stderr.write(
        `${JSON.stringify(file ? { ...rest, name: file.name, length: file.bytes.length } : rest)}\n`,
      );
      return;
    }
    if (event.kind === "file begins") {
      name = visible(event.name);
      put(`${name}: begins${event.length === undefined ? "" : `, ${event.length} bytes`}`);
    } else if (event.kind === "progress" && screen && clock() - shown > 200) {
      shown = clock();
      const seconds = (shown - began) / 1000;
      const part = event.length ? ` of ${event.length}, ${Math.floor((event.bytes / event.length) * 100)} %` : "";
      put(`${name}: ${event.bytes} bytes${part}, ${Math.round(event.bytes / Math.max(seconds, 0.1))} bytes/s`);
    } else if (event.kind === "retry") put(`${name}: block ${event.block} again: ${event.why}`);
    else if (event.kind === "file ends") put(`${name}: ${event.file.bytes.length} bytes, done${screen ? "\n" : ""}`);
  };
}
