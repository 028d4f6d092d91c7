import type { BenchTimer } from "../../bench/index.ts";
import type { Watched } from "./devices.ts";

const INTERRUPTS = 0x80;
const COUNTS_PULSES = 0x40;
const BY_256 = 0x20;
const CONSTANT_FOLLOWS = 0x04;
const RESET = 0x02;
const CONTROL = 0x01;
const NEVER = Number.POSITIVE_INFINITY;

interface Channel {
  control: number;
  /** Loaded at the next zero; the one that is being counted down is in `period`. */
  constant: number;
  /** Cycles of the whole count; 0 while it stands. */
  period: number;
  zero: number;
  follows: boolean;
  /** It asks, or is being served: from the acknowledge until RETI. */
  pending: boolean;
  served: boolean;
}

/**
 * A Z80-CTC in timer mode: a count of the CPU's clock ÷ 16 or 256, a new time constant at once where the channel stood, else at the
 * next zero; channel 0 goes first, and one that is served keeps those behind it back until RETI. UM0081, “CTC Programming” and
 * “CTC Interrupt Servicing”; that a control word without interrupts takes back what was asked: from memory.
 */
export function counterOf({ at }: BenchTimer, ports: boolean): Watched {
  let base = 0;
  const channels = Array.from(
    { length: 4 },
    (): Channel => ({
      control: RESET,
      constant: 0,
      period: 0,
      zero: NEVER,
      follows: false,
      pending: false,
      served: false,
    }),
  );
  const unit = ({ control }: Channel) => (control & BY_256 ? 256 : 16);
  const advance = (clock: number) => {
    for (const each of channels) {
      if (each.zero > clock) continue;
      if (each.control & INTERRUPTS) each.pending = true;
      each.zero += each.period;
      each.period = unit(each) * each.constant;
      if (each.zero <= clock) each.zero += Math.floor((clock - each.zero) / each.period + 1) * each.period;
    }
  };
  /** The first that asks, if none before it is being served. */
  const asking = () => {
    const first = channels.findIndex((each) => each.pending || each.served);
    return first >= 0 && !channels[first]!.served ? first : -1;
  };
  return {
    at: [at, at + 1, at + 2, at + 3],
    ports,
    read(address, clock) {
      advance(clock);
      const channel = channels[address - at]!;
      return channel.period === 0 ? 0 : Math.ceil((channel.zero - clock) / unit(channel)) & 0xff;
    },
    write(address, value, clock) {
      advance(clock);
      const channel = channels[address - at]!;
      if (channel.follows) {
        channel.follows = false;
        channel.constant = value || 256;
        if (!(channel.control & RESET) && channel.period > 0) return;
        channel.control &= ~RESET;
        if (channel.control & COUNTS_PULSES) return;
        channel.period = unit(channel) * channel.constant;
        channel.zero = clock + channel.period;
      } else if (value & CONTROL) {
        channel.control = value;
        channel.follows = (value & CONSTANT_FOLLOWS) !== 0;
        if (!(value & INTERRUPTS)) channel.pending = false;
        if (!(value & RESET)) return;
        channel.period = 0;
        channel.zero = NEVER;
      } else if (address === at) base = value & 0xf8;
    },
    asks(clock) {
      advance(clock);
      return asking() >= 0;
    },
    next: () => Math.min(...channels.map((each) => (each.control & INTERRUPTS ? each.zero : NEVER))),
    acknowledge() {
      const channel = asking();
      if (channel < 0) return undefined;
      channels[channel]!.pending = false;
      channels[channel]!.served = true;
      return base | (channel << 1);
    },
    serving: () => channels.some((each) => each.served),
    returned() {
      const first = channels.find((each) => each.served);
      if (first) first.served = false;
    },
  };
}
