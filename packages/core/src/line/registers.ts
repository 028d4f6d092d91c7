import type { BenchPort } from "../bench/index.ts";
import type { Frame } from "./frame.ts";
import { type RateSetting, timerKind } from "./rate.ts";

/** One write to a register, in the order in which a program does them. */
export interface RegisterWrite {
  /** Register by the data sheet's name. */
  register: string;
  /** Undefined where the bench gives no address, or where the wiring decides it (control of an SIO channel). */
  address?: number;
  value: number;
  meaning: string;
}

/**
 * What a program writes for a rate and a frame: no interrupts, transmitter and receiver on, RTS and DTR asserted.
 * 6850: control bits as a 1980s handbook gives them; the 8251 after the 8080 system user's manual; 6551, 16450, SIO, CTC,
 * 6522 and 8253 after their data sheets, from memory. A frame that a part cannot send gives no writes to that part.
 */
export function registerWrites(port: BenchPort, setting: RateSetting, frame: Frame): RegisterWrite[] {
  const uart = port.chip?.uart;
  return [
    ...timerWrites(port, setting),
    ...(uart?.frames.includes(frame.text) ? PARTS[uart.kind](port, setting, frame) : []),
  ];
}

type Maker = (port: BenchPort, setting: RateSetting, frame: Frame) => RegisterWrite[];
const at = (base: number | undefined, offset: number): { address?: number } =>
  base === undefined ? {} : { address: base + offset };

/** Control bits 4 to 2 of the 6850 count through these frames. */
const FRAMES_6850 = ["7E2", "7O2", "7E1", "7O1", "8N2", "8N1", "8E1", "8O1"];
const RATIO_6850: Readonly<Record<number, number>> = { 1: 0, 16: 1, 64: 2 };
const RATIO_8251: Readonly<Record<number, number>> = { 1: 1, 16: 2, 64: 3 };
const RATIO_SIO: Readonly<Record<number, number>> = { 1: 0, 16: 1, 32: 2, 64: 3 };
/** Two bits for 5, 6, 7, 8 data bits, as the SIO has them. */
const LENGTH_SIO: Readonly<Record<number, number>> = { 5: 0, 6: 2, 7: 1, 8: 3 };
const stopCode = (frame: Frame): number => (frame.stop === 1 ? 1 : frame.stop === 1.5 ? 2 : 3);

const PARTS: Readonly<Record<"6551" | "6850" | "8251" | "16450" | "SIO", Maker>> = {
  "6850": (port, { ratio }, frame) => [
    { register: "control", ...at(port.at, 0), value: 0x03, meaning: "master reset" },
    {
      register: "control",
      ...at(port.at, 0),
      value: (FRAMES_6850.indexOf(frame.text) << 2) | RATIO_6850[ratio ?? 16]!,
      meaning: `${frame.text}, ÷${ratio}, RTS asserted, no interrupts`,
    },
  ],
  "6551": (port, { code }, frame) => {
    const parity = { none: 0, odd: 0x20, even: 0x60, mark: 0xa0, space: 0xe0 }[frame.parity];
    // Bit 4 takes the receiver's clock from the generator; code 0 takes 16 times the rate from outside.
    const control = (frame.stop > 1 ? 0x80 : 0) | ((8 - frame.data) << 5) | 0x10 | (code ?? 0);
    return [
      { register: "status", ...at(port.at, 1), value: 0, meaning: "program reset: any value" },
      { register: "control", ...at(port.at, 3), value: control, meaning: `${frame.data} data bits, rate code ${code}` },
      {
        register: "command",
        ...at(port.at, 2),
        value: parity | 0x0b,
        meaning: `${frame.parity === "none" ? "no" : frame.parity} parity, RTS and DTR asserted, no interrupts`,
      },
    ];
  },
  "8251": (port, { ratio }, frame) => {
    const parity = frame.parity === "even" ? 0x30 : frame.parity === "odd" ? 0x10 : 0;
    const mode = (stopCode(frame) << 6) | parity | ((frame.data - 5) << 2) | RATIO_8251[ratio ?? 16]!;
    const control = (value: number, meaning: string) => ({ register: "control", ...at(port.at, 1), value, meaning });
    return [
      ...[1, 2, 3].map(() => control(0, "ends whatever mode it was left in")),
      control(0x40, "internal reset"),
      control(mode, `mode: ${frame.text}, ÷${ratio}`),
      control(0x37, "command: transmitter and receiver on, errors cleared, RTS and DTR asserted"),
    ];
  },
  "16450": (port, { divisor }, frame) => {
    const parity = { none: 0, odd: 0x08, even: 0x18, mark: 0x28, space: 0x38 }[frame.parity];
    const line = (frame.data - 5) | (frame.stop > 1 ? 0x04 : 0) | parity;
    return [
      { register: "line control", ...at(port.at, 3), value: 0x80 | line, meaning: "opens the divisor latches" },
      { register: "divisor low", ...at(port.at, 0), value: (divisor ?? 0) & 0xff, meaning: `divisor ${divisor}` },
      { register: "divisor high", ...at(port.at, 1), value: (divisor ?? 0) >> 8, meaning: `divisor ${divisor}` },
      { register: "line control", ...at(port.at, 3), value: line, meaning: `${frame.text}; latches closed` },
      { register: "interrupt enable", ...at(port.at, 1), value: 0, meaning: "no interrupts" },
      { register: "modem control", ...at(port.at, 4), value: 0x03, meaning: "RTS and DTR asserted" },
    ];
  },
  SIO: (_port, { ratio }, frame) => {
    const bits = LENGTH_SIO[frame.data]!;
    const parity = frame.parity === "even" ? 0x03 : frame.parity === "odd" ? 0x01 : 0;
    // Every register but WR0 is reached by writing its number to WR0 first.
    const to = (register: number, value: number, meaning: string): RegisterWrite[] => [
      { register: "WR0", value: register, meaning: `points at WR${register}` },
      { register: `WR${register}`, value, meaning },
    ];
    return [
      { register: "WR0", value: 0x18, meaning: "channel reset" },
      ...to(4, (RATIO_SIO[ratio ?? 16]! << 6) | (stopCode(frame) << 2) | parity, `${frame.text}, ×${ratio}`),
      ...to(1, 0, "no interrupts"),
      ...to(3, (bits << 6) | 0x01, `receiver on, ${frame.data} bits`),
      ...to(5, 0x80 | (bits << 5) | 0x0a, `transmitter on, ${frame.data} bits, RTS and DTR asserted`),
    ];
  },
};

function timerWrites(port: BenchPort, setting: RateSetting): RegisterWrite[] {
  const { timer } = port;
  const kind = timer && timerKind(timer.part);
  if (!timer || !kind || !setting.timer) return [];
  const { prescale, count } = setting.timer;
  if (kind === "CTC") {
    // Bits: 6 counter mode, 5 prescaler of 256, 2 time constant follows, 1 reset, 0 control word.
    const mode = prescale === 1 ? 0x40 : prescale === 256 ? 0x20 : 0;
    return [
      {
        register: "channel control",
        ...at(timer.at, 0),
        value: mode | 0x07,
        meaning:
          prescale === 1
            ? "counter mode, time constant follows"
            : `timer mode, prescaler ${prescale}, time constant follows`,
      },
      {
        register: "time constant",
        ...at(timer.at, 0),
        value: count & 0xff,
        meaning: `${count}${count === 256 ? " (written as 0)" : ""}`,
      },
    ];
  }
  if (kind === "6522") {
    const bits = port.chip?.uart ? 0xc0 : 0x40;
    return [
      {
        register: "auxiliary control",
        ...at(timer.at, 11),
        value: bits,
        meaning: `timer 1 runs free${bits === 0xc0 ? ", square wave on PB7" : ""} (keep the other bits as they are)`,
      },
      { register: "timer 1 low", ...at(timer.at, 4), value: count & 0xff, meaning: `count ${count}` },
      { register: "timer 1 high", ...at(timer.at, 5), value: count >> 8, meaning: "starts the timer" },
    ];
  }
  const channel = timer.channel ?? 0;
  return [
    {
      register: "mode word",
      ...at(timer.at, 3),
      value: (channel << 6) | 0x36,
      meaning: `counter ${channel}, low byte then high byte, square wave`,
    },
    {
      register: `counter ${channel}`,
      ...at(timer.at, channel),
      value: count & 0xff,
      meaning: `count ${count}, low byte`,
    },
    { register: `counter ${channel}`, ...at(timer.at, channel), value: (count >> 8) & 0xff, meaning: "high byte" },
  ];
}
