import type { Bench } from "../../bench/index.ts";
import type { Ranked } from "./rank.ts";
import type { Suspect } from "./types.ts";

/** The next thing to do at the machine, so that the first suspects are told apart. */
export interface Measurement {
  /** One sentence: what to do. */
  title: string;
  /** What each result says. */
  results: readonly { seen: string; means: string }[];
  /** What can hurt, or be hurt; read first. */
  cautions: readonly string[];
}

/** Suspects whose fit is this much less than the first one's are still worth telling apart. */
const NEAR = 0.15;

const POWER_OFF = "Switch off, pull the plug and wait before a chip or a lead of the meter goes near the board.";
const STATIC =
  "Chips of memory are killed by static: wear an earthed strap, and never one while a mains lead or a picture tube is open.";
const MAINS =
  "This machine has mains inside its case: keep covers over the supply, work only with what is made safe, and leave the rest to somebody with licence under local rules.";
const PROBE = "Measure live only with insulated tips, one hand, and nothing that can slip across two pins.";

/** What to measure next; undefined where there is no suspect. */
export function nextMeasurement(bench: Bench, ranked: readonly Ranked[]): Measurement | undefined {
  const [first] = ranked;
  if (!first) return undefined;
  const { suspect } = first;
  const near = ranked
    .slice(1)
    .filter(({ fit }) => fit > first.fit - NEAR)
    .map((each) => each.suspect);
  const others = near.length > 0 ? near.map(({ title }) => title).join(", or ") : undefined;
  const otherwise = others ?? "the next one on the list";
  const mains = bench.computer?.mains === "inside" ? [MAINS] : [];
  const off = [...mains, POWER_OFF, STATIC];
  const live = [...mains, PROBE];
  switch (suspect.kind) {
    case "chip": {
      const partner = partnerOf(bench, suspect);
      const name = suspect.place ?? suspect.title;
      return {
        title: `Exchange ${name} and ${partner ?? "a chip of another bit of the same row"}, both marked first, and run the same tests again; where they are soldered, measure from each of its pins to the same pin of its neighbour instead.`,
        results: [
          { seen: "the wrong bit is now the other chip's", means: `${name} is bad` },
          { seen: "the same bit is wrong still", means: `its socket or its line is bad${others ? `: ${others}` : ""}` },
          { seen: "nothing is wrong any more", means: "a contact was bad: clean both sockets and run the tests twice" },
        ],
        cautions: off,
      };
    }
    case "address line": {
      const lines = suspect.lines ?? [];
      return {
        title:
          lines.length > 1
            ? `Measure the resistance between address lines ${lines.join(" and ")} at the chips, and along each from the multiplexer.`
            : `Measure the resistance of ${suspect.title} from the multiplexer to the same pin of every chip, and to ground and +5 V.`,
        results: [
          {
            seen: "under 1 Ω along the line, over 1 kΩ to all else",
            means: `the line is good: its driver is bad, or ${otherwise}`,
          },
          { seen: "no connection to some chips", means: "the trace is broken behind the last chip that is reached" },
          {
            seen: "a few ohms to another line, to ground or +5 V",
            means: "a bridge: look between the pins with a glass",
          },
        ],
        cautions: off,
      };
    }
    case "data line": {
      const lines = (suspect.lines ?? []).map((each) => `D${each}`).join(" and ");
      return {
        title: `With the tests running, look at ${lines} on both sides of the memory's buffer with a logic probe.`,
        results: [
          { seen: "it moves on the chips' side only", means: "the buffer is bad" },
          {
            seen: "it moves on neither side",
            means: `something holds the line: with the power off, measure it to ground, to +5 V and to its neighbours; else ${otherwise}`,
          },
          { seen: "it moves on both sides", means: otherwise },
        ],
        cautions: live,
      };
    }
    case "select":
      return {
        title: `With the tests running, look at the ${suspect.title} with a logic probe: first where it is made, then at the chips.`,
        results: [
          { seen: "pulses where it is made, none at the chips", means: "the trace or its series resistor is open" },
          { seen: "no pulses at either", means: "what makes it is bad, or does not get what it needs" },
          { seen: "pulses at the chips", means: otherwise },
        ],
        cautions: live,
      };
    case "refresh":
      return {
        title: "Hold the CPU in reset and look at the chips' row strobe and row address lines with a logic probe.",
        results: [
          { seen: "pulses, and all row lines move", means: `refresh is there: ${otherwise}` },
          {
            seen: "pulses, and a row line stands still",
            means: "that output of the counter, or its way through the multiplexer, is bad",
          },
          { seen: "no pulses", means: "what asks for refresh is bad: its timer, or its gate" },
        ],
        cautions: live,
      };
    case "latch":
    case "translation":
      return {
        title: `Write each number to it from the monitor, and look with a logic probe at the ${suspect.title}, at the chip itself and where it leads.`,
        results: [
          { seen: "the output does not follow", means: "that chip is bad, or another drives the same line" },
          { seen: "it follows at the chip and not where it leads", means: "the trace is open" },
          { seen: "it follows everywhere", means: otherwise },
        ],
        cautions: live,
      };
  }
}

/** The place of a chip of another bit, beside the suspect. */
function partnerOf(bench: Bench, { part, chip }: Suspect): string | undefined {
  if (chip === undefined) return undefined;
  const places = bench.computer?.regions.find((each) => each.name === part)?.places ?? [];
  return places[chip + 1] ?? places[chip - 1];
}
