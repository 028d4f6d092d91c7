import { writeFile } from "node:fs/promises";
import type { BenchCable } from "@rouse/core/bench";
import { InputError } from "@rouse/core/errors";
import {
  asCable,
  type CableNets,
  type Contact,
  cableCircuits,
  cableNets,
  cableProblems,
  contactsInWords,
  continuity,
  designCable,
  drawCable,
} from "@rouse/core/line";
import { formatNumber } from "@rouse/core/quantity";
import { benchOfJob } from "../job/index.ts";
import { openJob } from "../store/index.ts";
import { paint, wrap } from "./text.ts";
import type { Output, Verb } from "./verb.ts";

type Known = Extract<CableNets, { known: true }>;

function printCable(out: Output, cable: BenchCable, found: Known): boolean {
  const { nets } = found;
  const name = (each: Contact) => `${cable[each.end].name} ${each.pin}`;
  out.line(paint(out.colour, "bold", `${cable.name}: ${cable.from.name} to ${cable.to.name}, ${cable.kind}`));
  for (const { driver, listener, meeting } of cableCircuits(cable, nets)) {
    const mark = { fits: "●", marginal: "▲", fails: "■", damages: "■" } as const;
    const text = `${meeting ? mark[meeting.verdict] : "○"} ${driver.circuit} (${name(driver)}) drives ${listener.circuit} (${name(listener)}): ${meeting?.sentence ?? "levels not given"}`;
    for (const line of wrap(text, out.width, "  ")) out.line(line);
  }
  for (const net of nets) {
    const commons = net.pins.filter((pin) => pin.direction === "common");
    if (commons.length > 1)
      out.line(`  ● ${commons.map((pin) => `${pin.circuit} (${name(pin)})`).join(" joined to ")}`);
  }
  const problems = cableProblems(cable, nets);
  for (const { grave, sentence } of problems)
    for (const line of wrap(`${grave ? "■" : "▲"} ${sentence}`, out.width, "  ")) out.line(line);
  if (problems.length === 0) out.line("  ● data pass both ways, and the grounds are joined");
  const list = continuity(nets);
  out.line();
  out.line("  Continuity, plugged in nowhere. These must beep:");
  for (const net of nets.filter((each) => each.pins.length > 1)) out.line(`    ${net.pins.map(name).join(" – ")}`);
  out.line("  Once they do, these must not:");
  for (const { on, against } of list.shortly)
    for (const line of wrap(
      `${name(on)} against ${contactsInWords(against, (end) => cable[end].name)}`,
      out.width,
      "    ",
    ))
      out.line(line);
  // They join nothing by a wire, but may by solder.
  const bare = nets.filter((each) => each.pins.length === 1).length;
  const rest = bare > 1 ? "Between contacts without a wire, look for solder that joins neighbours. " : "";
  const pairs = `${formatNumber(list.silent.length)} pairs must not beep in all; \`--json\` has each.`;
  for (const line of wrap(`${rest}${pairs}`, out.width, "  ")) out.line(line);
  return (
    problems.some((each) => each.grave) ||
    cableCircuits(cable, nets).some(({ meeting }) => meeting?.verdict === "fails" || meeting?.verdict === "damages")
  );
}

export const verb: Verb = {
  usage: "[JOB] [CABLE]",
  help: [
    "Says in words what each wire of a cable joins and what comes of it, and lists what a continuity tester must say.",
    "With --design, works out the smallest cable between the same two ends instead. Without CABLE, all cables.",
  ],
  options: {
    design: { type: "boolean", about: "work out the smallest cable that works between the two ends" },
    handshake: { type: "boolean", about: "with --design: with hardware handshake (RTS and CTS)" },
    svg: { type: "string", value: "FILE", about: "write a drawing of one cable to solder from" },
    force: { type: "boolean", about: "with --svg: write over a file that is there" },
    json: { type: "boolean", about: "print everything for machines" },
  },
  examples: [
    ["rouse cable demo/first-try", "what is wrong with that cable"],
    ["rouse cable demo/first-try --design --svg cable.svg", "the one to solder instead"],
  ],
  async run({ positionals, values }, out) {
    if (positionals.length > 2)
      throw new InputError("one-cable", `One job and one cable at a time; “${positionals[2]}” is one too many.`);
    const read = await benchOfJob(await openJob(positionals[0] ?? "."), positionals[0] ?? ".");
    if ("problem" in read) {
      process.stderr.write(`${read.problem}\n`);
      return 2;
    }
    const { bench } = read;
    const wanted = positionals[1];
    const cables = bench.cables.filter((each) => wanted === undefined || each.name === wanted);
    if (cables.length === 0)
      throw new InputError(
        "no-such-cable",
        wanted === undefined
          ? "This bench describes no cable."
          : `There is no cable “${wanted}” on this bench; there is ${bench.cables.map((each) => `“${each.name}”`).join(", ") || "none"}.`,
      );
    if (values.svg !== undefined && cables.length > 1)
      throw new InputError("one-drawing", "A drawing holds one cable; name which.");
    let stops = false;
    const json: unknown[] = [];
    for (const [index, given] of cables.entries()) {
      if (index > 0 && !values.json) out.line();
      let cable = given;
      let reasons: readonly string[] = [];
      if (values.design) {
        const design = designCable(given.from, given.to, { handshake: values.handshake === true });
        if (!design.possible)
          throw new InputError("no-design", `No cable for ${given.name} can be designed: ${design.why.join("; ")}.`);
        reasons = design.reasons;
        cable = asCable(given.name, given.from, given.to, design.wiring);
      }
      const found = cableNets(cable);
      if (!found.known)
        throw new InputError(
          "cable-unknown",
          `What ${cable.name} joins cannot be said without ${found.missing.join(", ")}.`,
        );
      if (values.json)
        json.push({
          name: cable.name,
          designed: values.design === true,
          reasons,
          ...found,
          circuits: cableCircuits(cable, found.nets),
          problems: cableProblems(cable, found.nets),
          continuity: continuity(found.nets),
        });
      else {
        if (printCable(out, cable, found)) stops = true;
        if (reasons.length > 0) out.line();
        for (const reason of reasons) for (const line of wrap(reason, out.width, "  ")) out.line(line);
      }
      if (typeof values.svg === "string") {
        await writeDrawing(values.svg, drawCable(cable, found.wiring), values.force === true);
        if (!values.json) out.line(`\n  drawing: ${values.svg}`);
      }
    }
    if (values.json) out.line(JSON.stringify({ format: "rouse-cables", version: 1, cables: json }, null, 2));
    return stops ? 1 : 0;
  },
};

/** Nothing is written over a file without the person's word. */
async function writeDrawing(file: string, svg: string, force: boolean): Promise<void> {
  try {
    await writeFile(file, `${svg}\n`, { flag: force ? "w" : "wx" });
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    if (code === "EEXIST") throw new InputError("file-there", `${file} is there already; --force writes over it.`);
    throw new InputError("cannot-write", `${file} cannot be written: ${(error as Error).message}.`);
  }
}
