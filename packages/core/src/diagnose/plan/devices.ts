import type { Bench, BenchPort } from "../../bench/index.ts";
import { bitCycles, type Frame, rateTable, registerWrites, settingOf } from "../../line/index.ts";
import type { EchoRate, Mark, Poke, Signs, Step } from "./types.ts";
import { pokesOf, type Speaker } from "./voice.ts";

/** Tests of what is no memory: what shows the verdict, and the port. Timers are in timers.ts. */

export const poke = (at: number, port: boolean, value: number, meaning: string): Poke => ({ at, port, value, meaning });

/** A lamp is lit when all is good and flashes when not; a bell rings when not; a screen shows the word. */
export function signsOf(bench: Bench): Signs {
  const { lamp, bell, screen } = bench.computer?.signals ?? {};
  const light = (lit: boolean): Poke[] =>
    lamp
      ? [
          poke(
            lamp.at,
            lamp.port ?? false,
            lit === ((lamp.lit ?? 1) === 1) ? 1 << lamp.bit : 0,
            lit ? "the lamp is lit" : "the lamp is dark",
          ),
        ]
      : [];
  const word = (text: string): Poke[] =>
    screen
      ? [...text].map((sign, index) =>
          poke(screen.at + index, false, sign.charCodeAt(0), index === 0 ? "on the screen" : ""),
        )
      : [];
  return {
    good: [...light(true), ...word("GOOD")],
    bad: [...word("BAD "), ...(bell ? [poke(bell.at, bell.port ?? false, bell.value ?? 0, "the bell")] : [])],
    on: light(true),
    off: light(false),
    ...(screen ? { screen: screen.at } : {}),
  };
}

/** Every character that can be printed, in two lines, and a line of changing bits: what is missing or wrong shows at once. */
export const PATTERN: readonly string[] = [
  String.fromCharCode(...Array.from({ length: 48 }, (_, index) => 0x20 + index)),
  String.fromCharCode(...Array.from({ length: 47 }, (_, index) => 0x50 + index)),
  "U*".repeat(20),
];

/** Rates that a program can set by itself, with what it writes for each. */
function ratesOf(bench: Bench, port: BenchPort, frame: Frame): EchoRate[] {
  const now = settingOf(port);
  if ("missing" in now || !port.clock) return [];
  const clock = port.clock.value;
  const ratios = port.chip?.uart?.ratios;
  if (port.chip?.uart?.generator === "divided" && ratios)
    return ratios
      .filter((ratio) => ratio > 1)
      .map((ratio) => {
        const setting = { ...now, ratio };
        return {
          rate: Math.round(clock / bitCycles(port, setting)),
          pokes: pokesOf(bench, port, registerWrites(port, setting, frame)),
        };
      });
  return rateTable(port, frame)
    .filter(({ verdict, setting }) => verdict !== "no" && setting.divide === now.divide)
    .map(({ rate, writes }) => ({ rate, pokes: pokesOf(bench, port, writes) }));
}

/** Bytes that go round a loop plug: all changes of neighbouring bits, and each bit alone. */
const ECHOED = [0x55, 0x2a, 0x00, 0x7f, 0x01, 0x02, 0x04, 0x08, 0x10, 0x20, 0x40];

/** A loop plug on a port, at all rates that can be set without a screwdriver; afterwards the port is as it was. */
export function echoSteps(bench: Bench, { port, voice, frame, setup }: Speaker, own: boolean): Step[] {
  const rates = ratesOf(bench, port, frame);
  if (rates.length === 0) return [];
  const bytes = frame.data === 8 ? [...ECHOED, 0x80, 0xaa, 0xff] : ECHOED;
  const marks = bytes.map((byte): Mark => ({ address: voice.data, byte: byte & (2 ** frame.data - 1) }));
  return [
    ...(own ? [{ kind: "wait", seconds: PLUG_SECONDS } as const] : []),
    { kind: "echo", element: 1, voice, mask: 2 ** frame.data - 1, marks, rates },
    { kind: "pokes", pokes: setup },
    // A line of its own, for what was sent and came back went to the terminal too.
    ...(own ? [{ kind: "wait", seconds: PLUG_SECONDS } as const, { kind: "pattern", lines: [""] } as const] : []),
  ];
}

/** Time to put a loop plug in the terminal's place, and to put the terminal back. */
export const PLUG_SECONDS = 20;
