import { CODES, type CodeName, decodeText, dump, hex } from "@rouse/core/bytes";
import { InputError } from "@rouse/core/errors";
import { formatNumber } from "@rouse/core/quantity";
import { inspectSystem, isText, type Need, needsOf, type SystemReport } from "@rouse/core/system";
import {
  KIND_NAMES,
  noVolume,
  parseAddress,
  recogniseAll,
  resolveAddress,
  type SurveyedVolume,
  surveyAndOpen,
  type VolumeKind,
} from "@rouse/core/volume";
import { readImage } from "../store/index.ts";
import { columns, paint, wrap } from "./text.ts";
import type { Output, Verb } from "./verb.ts";

const CONDITION = { whole: ["●", "green"], "readable with loss": ["▲", "yellow"], lost: ["■", "red"] } as const;

const counted = (count: number, what: string) => `${formatNumber(count)} ${what}${count === 1 ? "" : "s"}`;

/** Details that a list of files shows without `--all`. */
const LISTED = /^(attributes|modified|user|load)/i;

function printVolume(out: Output, volume: SurveyedVolume, all: boolean, indent = ""): void {
  const [mark, colour] = CONDITION[volume.condition];
  const say = (text: string) => out.line(indent + text);
  say(paint(out.colour, "bold", `${KIND_NAMES[volume.kind]}${volume.label ? ` “${volume.label}”` : ""}`));
  say(
    `${volume.format}; ${formatNumber(volume.blocks)} blocks, ${volume.freeBlocks === null ? "free blocks not known" : `${formatNumber(volume.freeBlocks)} free`}`,
  );
  say(paint(out.colour, colour, `${mark} ${volume.condition}`));
  for (const line of columns(volume.facts.map(([label, value]) => [`  ${label}`, value]))) say(line);
  if (volume.damages.length > 0) out.line();
  for (const damage of volume.damages) {
    const [shape, tone] = CONDITION[damage.condition];
    const lines = wrap(
      `${damage.sentence} ${damage.files.length > 0 ? `Files: ${damage.files.join(", ")}. ` : ""}A repair would: ${damage.repair}`,
      out.width - 4 - indent.length,
    );
    for (const [index, line] of lines.entries()) say(`  ${index === 0 ? paint(out.colour, tone, shape) : " "} ${line}`);
  }
  out.line();
  const rows = volume.entries
    .filter((entry) => !entry.deleted)
    .map((entry) => [
      `  ${CONDITION[entry.condition][0]} ${entry.path}${entry.type === "folder" ? "/" : ""}`,
      entry.type === "folder" ? "" : formatNumber(entry.size, 9),
      entry.records ? `records, ${entry.records.count} × ${entry.records.length} bytes` : entry.kind,
      entry.details
        .filter(([label]) => all || LISTED.test(label))
        .map(([label, value]) => `${label} ${value}`)
        .join(", "),
    ]);
  for (const line of columns([["    name", "bytes", "kind", ""], ...rows])) say(line);
  const { files, folders, deleted, hurt } = volume.counts;
  say(
    `  ${counted(files, "file")}, ${counted(folders, "folder")}, ${deleted} deleted${hurt > 0 ? `; ${hurt} not wholly readable` : ""}`,
  );
  for (const nested of volume.nested) {
    out.line();
    say(`Inside ${nested.address.replace(/:$/, "")} lies another volume:`);
    printVolume(out, nested.volume, all, `${indent}  `);
  }
}

function printSystem(out: Output, system: SystemReport, needs: readonly Need[], all: boolean): void {
  const { modules, asks, boot } = system;
  if (modules.length === 0 && asks.length === 0 && needs.length === 0) return;
  out.line();
  out.line(paint(out.colour, "bold", "The system on it"));
  if (boot.file) out.line(`  boots from ${boot.file}${boot.how ? ` (${boot.how})` : ""}`);
  const bad = modules.filter((each) => each.faults.length > 0);
  if (modules.length > 0)
    out.line(`  ${modules.length} program modules, ${bad.length === 0 ? "all sound" : `${bad.length} with faults`}`);
  for (const module of all ? modules : bad)
    out.line(
      `    ${module.faults.length > 0 ? "■" : "●"} ${module.name}  ${module.typeName}, ${module.size} bytes, ${module.path} byte $${hex(module.offset, 4)}${module.faults.map((fault) => `; ${fault.sentence}`).join("")}`,
    );
  for (const ask of asks)
    if (all || ask.state !== "ready") out.line(`    ${ask.role} “${ask.name}”, asked for at ${ask.when}: ${ask.state}`);
  if (needs.length > 0) out.line("  It needs:");
  for (const need of needs) for (const line of wrap(`- ${needSentence(need)}`, out.width, "    ")) out.line(line);
}

/** A need in words. */
export function needSentence(need: Need): string {
  switch (need.kind) {
    case "cpu":
      return `a CPU that runs ${need.instructionSet} code (${need.runsOn.join(", ")})`;
    case "memory":
      return `${formatNumber(need.bytes)} bytes of memory (${need.computed})`;
    case "translation":
      return need.sentence;
    case "drive":
      return `a drive with ${need.tracks ?? "?"} tracks and ${need.sides ?? "?"} side${need.sides === 1 ? "" : "s"}${need.name ? ` for ${need.name}` : ""}`;
    case "files":
      return `storage with ${need.wants} (${need.count} of them)`;
    case "port":
      return `a port at $${hex(need.address, 4)} for ${need.name}${need.rate ? `, ${formatNumber(need.rate)} bit/s` : ""}${need.frame ? `, ${need.frame}` : ""}`;
    case "screen":
      return `a screen ${need.columns ?? "?"} columns wide for its longest line${need.rows ? `, ${need.rows} rows a page` : ""}`;
    case "controls":
      return `the control functions ${need.functions.map((each) => each.name).join(", ")}`;
  }
}

const codeOf = (wish: unknown): CodeName => {
  if (wish === undefined) return "plain";
  const found = CODES.find((each) => each.name.toLowerCase() === String(wish).toLowerCase());
  if (!found)
    throw new InputError(
      "no-such-code",
      `There is no character code “${wish}”; there is ${CODES.map((each) => each.name).join(", ")}.`,
    );
  return found.name;
};

const kindOf = (wish: unknown): { kind?: VolumeKind } => {
  if (wish === undefined) return {};
  if (!Object.hasOwn(KIND_NAMES, String(wish)))
    throw new InputError(
      "no-such-kind",
      `There is no kind of volume “${wish}”; there is ${Object.keys(KIND_NAMES).join(", ")}.`,
    );
  return { kind: wish as VolumeKind };
};

export const verb: Verb = {
  usage: "IMAGE[:PATH]",
  help: [
    "Says what a disk image holds and whether it is whole; with a path, shows that file.",
    "A volume inside a file is reached with another colon: disk.img:inner.img:readme. Looking changes nothing.",
  ],
  options: {
    json: { type: "boolean", about: "print everything for machines" },
    all: {
      type: "boolean",
      short: "a",
      about: "list every program module, every name that is asked for and all details",
    },
    hex: { type: "boolean", about: "show a file as bytes" },
    code: {
      type: "string",
      value: "CODE",
      about: `character code of text: ${CODES.map((each) => each.name).join(", ")}`,
    },
    kind: { type: "string", value: "KIND", about: `open it as: ${Object.keys(KIND_NAMES).join(", ")}` },
  },
  examples: [
    ["rouse look demo/mended/images/tern.img", "what is on the demo's disk"],
    ["rouse look demo/mended/images/tern.img:startup", "show a file of it"],
  ],
  async run({ positionals, values }, out) {
    const [target, extra] = positionals;
    if (target === undefined || extra !== undefined)
      throw new InputError("one-image", "Name one image: rouse look IMAGE, or IMAGE:PATH for a file on it.");
    const { image, parts } = parseAddress(target);
    const { bytes, sha256 } = await readImage(image);
    const wish = kindOf(values.kind);
    const code = codeOf(values.code);
    if (parts.length > 0) {
      const found = resolveAddress(bytes, parts, wish);
      if (found.entry?.type === "file") {
        const content = found.volume!.read(found.entry);
        if (values.json)
          out.line(
            JSON.stringify({
              path: found.entry.path,
              size: content.bytes.length,
              condition: content.condition,
              missing: content.missing,
              hex: Buffer.from(content.bytes).toString("hex"),
            }),
          );
        else if (!values.hex && isText(content.bytes)) out.line(decodeText(content.bytes, code));
        else
          for (const row of dump(content.bytes)) out.line(`${hex(row.offset, 6)}  ${row.hex.padEnd(47)}  ${row.text}`);
        for (const gap of content.missing)
          process.stderr.write(
            `rouse: ${gap.length} bytes from byte ${gap.offset} could not be read and are shown as zeros\n`,
          );
        return 0;
      }
      if (!found.volume) {
        for (const row of dump(found.image)) out.line(`${hex(row.offset, 6)}  ${row.hex.padEnd(47)}  ${row.text}`);
        return 0;
      }
      if (found.entry) {
        const under = `${found.entry.path}/`;
        for (const entry of found.volume.entries)
          if (entry.path.startsWith(under)) out.line(`${entry.path}${entry.type === "folder" ? "/" : ""}`);
        return 0;
      }
      return show(found.image, wish, values, out, sha256);
    }
    return show(bytes, wish, values, out, sha256);
  },
};

function show(
  bytes: Uint8Array,
  wish: { kind?: VolumeKind },
  values: Record<string, unknown>,
  out: Output,
  sha256: string,
): number {
  const { survey: found, volume } = surveyAndOpen(bytes, wish);
  if (!volume) throw noVolume(bytes, recogniseAll(bytes), wish);
  const system = inspectSystem(volume);
  const needs = needsOf(system, volume);
  if (values.json) {
    out.line(JSON.stringify({ format: "rouse-survey", version: 1, sha256, survey: found, system, needs }, null, 2));
    return 0;
  }
  out.line(paint(out.colour, "faint", `SHA-256 ${sha256}`));
  printVolume(out, found.volume!, values.all === true);
  printSystem(out, system, needs, values.all === true);
  return 0;
}
