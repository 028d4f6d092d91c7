import { printIssues } from "@rouse/core/bench";
import { InputError } from "@rouse/core/errors";
import {
  analyse,
  type FullAnswer,
  type MapFindings,
  type MapState,
  type MemoryMap,
  memoryMapOf,
  parseState,
  pictureOf,
  proveDecoding,
  type Room,
  roomsOf,
  type Segment,
  stateText,
} from "@rouse/core/memory";
import { formatValue, parseAddress } from "@rouse/core/quantity";
import { checkJob } from "../job/index.ts";
import { openJob } from "../store/index.ts";
import { columns, paint, wrap } from "./text.ts";
import type { Output, Verb } from "./verb.ts";

/** Rows of a view that are printed; finely divided maps have tens of thousands. */
const MOST_ROWS = 200;
/** States that are listed one by one. */
const MOST_STATES = 64;

const hex = (value: number): string => `$${value.toString(16).toUpperCase().padStart(4, "0")}`;
const size = (from: number, to: number): string => formatValue(to - from + 1, "memory");

function answerText({ read, write, clash, hidden }: Segment): string {
  if (clash.length > 0) return `■ ${clash.join(" and ")} drive the bus against each other`;
  const one = read ?? write;
  if (!one) return "nothing answers";
  const parts = [one.region, one.kind];
  if (one.block !== undefined) parts.push(`block ${one.block}`);
  if (one.bank !== undefined) parts.push(`bank ${one.bank}`);
  if (one.mirror) parts.push("mirror");
  if (!read) parts.push("write only");
  else if (!write) parts.push("read only");
  else if (write.region !== read.region) parts.push(`writes go to ${write.region}`);
  const others = hidden.filter((each) => each !== write?.region);
  if (others.length > 0) parts.push(`over ${others.join(", ")}`);
  return parts.join(", ");
}

/** Mirrors of one region that follow each other as one stretch: nobody reads 64 rows of two bytes. */
function withMirrorsJoined(view: readonly Segment[]): Segment[] {
  const joined: Segment[] = [];
  for (const segment of view) {
    const last = joined.at(-1);
    const text = answerText(segment);
    if (last && (segment.read ?? segment.write)?.mirror && answerText(last) === text)
      joined[joined.length - 1] = { ...last, to: segment.to };
    else joined.push(segment);
  }
  return joined;
}

function printMap(out: Output, map: MemoryMap, state: MapState, found: MapFindings): void {
  const title = stateText(state, map.powerOn);
  out.line(paint(out.colour, "bold", `What the CPU sees${title ? ` with ${title}` : ""}`));
  const view = withMirrorsJoined(map.view(state));
  const rows = view
    .slice(0, MOST_ROWS)
    .map((each) => [`  ${hex(each.from)}–${hex(each.to)}`, size(each.from, each.to), answerText(each)]);
  for (const line of columns(rows)) out.line(line);
  if (view.length > MOST_ROWS) out.line(`  … and ${view.length - MOST_ROWS} more stretches; \`--json\` has them all`);
  out.line();
  const say = (sentence: string) => {
    for (const line of wrap(sentence, out.width)) out.line(line);
  };
  say(
    `${
      found.states === 1
        ? "In its one state"
        : `Over ${found.looked === found.states ? `all ${found.states}` : `${found.looked} of ${found.states}`} states of the latches`
    }: ${
      found.clashes.length === 0
        ? "no two drive the bus at once"
        : found.clashes
            .map(
              (each) =>
                `${each.regions.join(" and ")} clash at ${hex(each.from)}–${hex(each.to)} (${each.states === found.looked ? "always" : stateText(each.state)})`,
            )
            .join("; ")
    }.`,
  );
  const { least, most } = found.longest;
  say(
    `Longest run of memory: ${formatValue(most.bytes, "memory")} from ${hex(most.from)}${least.bytes < most.bytes ? `; in the worst state ${formatValue(least.bytes, "memory")}` : ""}.`,
  );
  const all = found.looked === found.states;
  if (found.holes.length > 0)
    say(`${all ? "Nothing ever answers" : "In none of these states anything answers"} ${ranges(found.holes)}.`);
  if (found.sometimesHoles.length > 0) say(`In some states nothing answers ${ranges(found.sometimesHoles)}.`);
  for (const { region, ranges: places, bytes } of found.mirrors)
    say(`${region} answers at mirrors too, ${formatValue(bytes, "memory")} of addresses: ${ranges(places)}.`);
  for (const each of found.unseen)
    say(
      `${formatValue(each.bytes, "memory")} of ${each.part} are ${all ? "never seen" : "not seen in these states"}${each.banks.length > 0 ? ` (banks ${each.banks.slice(0, 16).join(", ")})` : ""}.`,
    );
  for (const { region, one, other, proof } of proveDecoding(map))
    say(
      proof.equal === undefined
        ? `${region}: too large to be proved.`
        : proof.equal
          ? `${region}: “${one}” and ${other} are proved equal (${proof.inputs} inputs, ${proof.method}).`
          : `■ ${region}: “${one}” and ${other} differ first at ${hex(proof.address)}${[...proof.others].map(([name, value]) => `, ${name} = ${value ? 1 : 0}`).join("")}: the first is ${proof.first ? "on there, the other off" : "off there, the other on"}.`,
    );
}

const ranges = (found: readonly { from: number; to: number }[]): string =>
  `${found
    .slice(0, 16)
    .map((each) => `${hex(each.from)}–${hex(each.to)}`)
    .join(", ")}${found.length > 16 ? ", …" : ""}`;

/** Where the system on an image would lie, and what is left. */
function printRoom(out: Output, image: string, room: Room): void {
  const bytes = (value: number) => formatValue(value, "memory", 6);
  out.line();
  out.line(paint(out.colour, "bold", `Where the system on ${image} would lie`));
  const rows = [
    ...room.placed.map((each) => [`  ${hex(each.from)}–${hex(each.to)}`, bytes(each.bytes), each.what]),
    ...room.homeless.map((each) => ["  ■ nowhere", bytes(each.bytes), each.what]),
  ];
  for (const line of columns(rows)) out.line(line);
  const logins =
    room.logins === undefined || !room.login
      ? "what a login takes is not known (show.loginMemory)"
      : `${room.logins} ${room.logins === 1 ? "login" : "logins"} at ${bytes(room.login.bytes)} each (${room.login.how})`;
  const behind =
    room.behindWindows > 0
      ? `; ${bytes(room.behindWindows)} are not seen in the same view: behind banks, or under something else`
      : "";
  for (const line of wrap(
    `Of ${bytes(room.total)} fitted ${bytes(room.left)} are left for users' programs: ${logins}${behind}.`,
    out.width,
  ))
    out.line(line);
}

/** Every state that makes a difference, with the stretches that are not as at power-on. */
function printStates(out: Output, map: MemoryMap): void {
  const before = new Set(map.view(map.powerOn).map((each) => `${each.from} ${each.to} ${answerText(each)}`));
  out.line();
  out.line(paint(out.colour, "bold", "What else the CPU sees, state by state"));
  let shown = 0;
  for (const state of map.states(MOST_STATES)) {
    if (shown++ === 0) continue;
    const rows = withMirrorsJoined(map.view(state))
      .map((each) => ({ each, text: answerText(each) }))
      .filter(({ each, text }) => !before.has(`${each.from} ${each.to} ${text}`));
    out.line(`  ${stateText(state)}${rows.length === 0 ? ": as at power-on" : ""}`);
    const printed = rows
      .slice(0, 32)
      .map(({ each, text }) => [`    ${hex(each.from)}–${hex(each.to)}`, size(each.from, each.to), text]);
    for (const line of columns(printed)) out.line(line);
    if (rows.length > 32) out.line(`    … and ${rows.length - 32} more`);
  }
  if (map.stateCount > shown) out.line(`  … and ${map.stateCount - shown} more states`);
}

function printAnswer(out: Output, label: string, answer: FullAnswer | undefined): void {
  if (!answer) {
    out.line(`  ${label}: nothing answers`);
    return;
  }
  const parts = [
    `${answer.region} (${answer.kind})`,
    ...(answer.board === undefined ? [] : [answer.board]),
    ...(answer.block === undefined ? [] : [`physical block ${answer.block}`]),
    ...(answer.bank === undefined ? [] : [`bank ${answer.bank}`]),
    `byte ${answer.offset} of it`,
    ...(answer.mirror ? ["a mirror"] : []),
  ];
  out.line(`  ${label}: ${parts.join(", ")}`);
  const rows = answer.chips.map((chip) => [
    `      bit${chip.bits.length > 1 ? "s" : ""} ${chip.bits.join(", ")}`,
    answer.chipPart ?? "",
    chip.place ?? `chip ${chip.index % answer.chips.length} of row ${chip.row}`,
    `cell ${chip.word}`,
  ]);
  for (const line of columns(rows)) out.line(line);
}

export const verb: Verb = {
  usage: "[JOB] [ADDRESS]",
  help: [
    "Shows what the CPU sees at every address, in one state of the latches, and what is wrong with it in any state.",
    "With an ADDRESS ($C000, 0xC000, 49152) it says who answers there: region, bank, block, board and every chip with its bit.",
    "Says, too, where the system on each image would lie, what is left for users' programs and how many logins that carries.",
    "Without --state it is the state at power-on. Latches are those of windows and those under computer.latches.",
  ],
  options: {
    state: {
      type: "string",
      value: "LATCH=N,…",
      about: "latches as they are set; also translation=on, task=1 and map.5=12 (logical block 5 is physical block 12)",
    },
    states: { type: "boolean", about: "list what is seen in every other state, too" },
    json: { type: "boolean", about: "print for machines" },
  },
  examples: [
    ["rouse memory demo/mended", "the map as it is at power-on"],
    ["rouse memory demo/mended '$C123' --state window=3", "which chips hold that byte of bank 3"],
    [
      "rouse memory demo/mended '$5000' --state translation=on,task=1,map.5=12",
      "the same through the translation board",
    ],
    ["rouse memory demo/mended --states", "what changes with every latch"],
  ],
  async run({ positionals, values }, out) {
    if (positionals.length > 2) throw new InputError("one-address", "Name one job folder and one address.");
    // An address by itself is of the job here; no folder is called $C000.
    const alone = positionals.length === 1 && /^(?:\$|0x)[\da-f]+$/i.test(positionals[0]!);
    const [name = ".", written] = alone ? [".", positionals[0]] : positionals;
    const address = written === undefined ? undefined : parseAddress(written);
    if (address !== undefined && address > 0xffff)
      throw new InputError("bad-address", `“${written}” is beyond $FFFF, where a 16-bit address ends.`);
    const { bench, text, issues, report, images } = await checkJob(await openJob(name));
    if (!bench) {
      process.stderr.write(`${printIssues(`${name}/${report.bench.file}`, text, issues)}\n`);
      return 2;
    }
    const map = memoryMapOf(bench);
    if (!map)
      throw new InputError("no-memory", "This bench does not describe the computer's memory (computer.memory).");
    const state = parseState(typeof values.state === "string" ? values.state : "", map.powerOn, map.latches);
    const found = analyse(map);
    const code = found.clashes.length > 0 || proveDecoding(map).some(({ proof }) => proof.equal === false) ? 1 : 0;
    const rooms = roomsOf(map, images, bench);
    if (values.json) {
      const answer = address === undefined ? {} : { address, answer: map.whoAnswers(state, address) };
      out.line(
        JSON.stringify(
          { format: "rouse-memory", version: 1, ...answer, picture: pictureOf(map, state), findings: found, rooms },
          null,
          2,
        ),
      );
      return code;
    }
    if (address === undefined) {
      printMap(out, map, state, found);
      if (values.states) printStates(out, map);
      for (const { image, room } of rooms) printRoom(out, image, room);
      return code;
    }
    const { read, write, clash, hidden, sets } = map.whoAnswers(state, address);
    const title = stateText(state, map.powerOn);
    out.line(paint(out.colour, "bold", `${hex(address)}${title ? ` with ${title}` : ""}`));
    if (clash.length > 0) out.line(`  ■ ${clash.join(" and ")} drive the bus against each other`);
    const alike = read && write && read.part === write.part && read.offset === write.offset;
    if (alike) printAnswer(out, "read and write", read);
    else {
      printAnswer(out, "read", read);
      printAnswer(out, "write", write);
    }
    for (const each of sets) out.line(`  a write sets ${each}`);
    if (hidden.length > 0) out.line(`  lies over: ${hidden.join(", ")}`);
    return clash.length > 0 ? 1 : 0;
  },
};
