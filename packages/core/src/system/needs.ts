import { visible } from "../bytes/index.ts";
import { formatNumber } from "../quantity/index.ts";
import type { Entry, Volume } from "../volume/index.ts";
import type { Evidence } from "./asks.ts";
import { eachFile, filesOf } from "./files.ts";
import { followFlow } from "./instruction-set.ts";
import { MACHINE_CODE } from "./module.ts";
import { memoryNeeds, translationNeeds } from "./needs-memory.ts";
import {
  type ControlsNeed,
  type CpuNeed,
  type DriveNeed,
  type FilesNeed,
  MOST_EVIDENCE,
  type Need,
  type PortNeed,
  type ScreenNeed,
} from "./needs-types.ts";
import { addProgram, addText, newScreenUse, type ScreenUse } from "./screen-use.ts";
import type { PlacedModule, SystemReport } from "./survey-system.ts";
import { textOf } from "./text.ts";

/** Everything that a system, as `inspectSystem` reported it, needs. Reads the volume's files once more. */
export function needsOf(report: SystemReport, volume: Volume): Need[] {
  const entries = filesOf(volume);
  const use = newScreenUse();
  const z80: Evidence[] = [];
  const i8080: Evidence[] = [];
  const texts = new Set(report.texts);
  const secret = new Set(report.accounts.map((each) => each.path));
  const programs = new Map(report.programs.map((each) => [each.path, each]));
  const modules = new Map<string, PlacedModule[]>();
  for (const module of report.modules) {
    const before = modules.get(module.path);
    if (before) before.push(module);
    else modules.set(module.path, [module]);
  }

  eachFile(volume, (path, bytes) => {
    const program = programs.get(path);
    const inFile = modules.get(path);
    if (secret.has(path) || (!program && !inFile && !texts.has(path))) return;
    const text = texts.has(path) ? textOf(bytes, volume.kind) : null;
    if (text) addText(use, path, text);
    else if (inFile) addModules(use, path, bytes, inFile);
    else addProgram(use, path, bytes);
    if (!program || volume.kind !== "extent-entry") return;
    const { reached, z80: found } = followFlow(bytes, program.loadAt);
    if (found.length > 1)
      z80.push({ file: path, offset: found[0]!, text: `reaches ${found.length} instructions that only the Z80 has` });
    else if (reached > 1)
      i8080.push({ file: path, offset: 0, text: `reaches ${reached} instructions, all of the 8080` });
  });
  return [
    ...cpuNeeds(report, z80, i8080),
    ...memoryNeeds(report, entries),
    ...translationNeeds(report, entries),
    ...driveNeeds(report, volume),
    ...filesNeeds(entries),
    ...portNeeds(report),
    ...screenNeeds(report, use),
    ...controlsNeeds(use),
  ];
}

/** Each byte once, even where damaged headers claim the same stretch. */
function addModules(use: ScreenUse, path: string, bytes: Uint8Array, modules: readonly PlacedModule[]): void {
  let done = 0;
  for (const { offset, size } of modules) {
    const end = Math.min(bytes.length, offset + size);
    if (end > done) addProgram(use, path, bytes, Math.max(done, offset), end);
    done = Math.max(done, end);
  }
}

const first = <T>(all: readonly T[]): T[] => all.slice(0, MOST_EVIDENCE);

/** Most machine code by far is in modules of language 1 (6809); command files are followed to see what they use. */
function cpuNeeds(report: SystemReport, z80: Evidence[], i8080: Evidence[]): CpuNeed[] {
  const needs: CpuNeed[] = [];
  const coded = report.modules.filter((each) => each.language === MACHINE_CODE && each.entry !== undefined);
  const whole = coded.filter((each) => each.faults.length === 0);
  if (whole.length > 0)
    needs.push({
      kind: "cpu",
      instructionSet: "6809",
      runsOn: ["6809", "6809E"],
      evidence: first(
        whole.map((each) => ({
          file: each.path,
          offset: each.offset + 6,
          text: `module ${each.name}: ${each.typeName}, ${each.languageName}`,
        })),
      ),
    });
  if (z80.length > 0) needs.push({ kind: "cpu", instructionSet: "Z80", runsOn: ["Z80"], evidence: first(z80) });
  if (i8080.length > 0)
    needs.push({ kind: "cpu", instructionSet: "8080", runsOn: ["8080", "8085", "Z80"], evidence: first(i8080) });
  return needs;
}

function driveNeeds(report: SystemReport, volume: Volume): DriveNeed[] {
  const { tracks, sides, zones } = volume.geometry;
  const image: DriveNeed = {
    kind: "drive",
    of: "image",
    tracks,
    sides,
    zones: zones.map((zone) => ({ ...zone })),
    evidence: [{ file: "", offset: 0, text: `the image: ${visible(volume.format)}` }],
  };
  const drives = report.descriptors.flatMap((each): DriveNeed[] => {
    const { table } = each;
    if (table.kind !== "disk") return [];
    return [
      {
        kind: "drive",
        of: "descriptor",
        name: each.name,
        ...(table.tracks === undefined ? {} : { tracks: table.tracks }),
        ...(table.sides === undefined ? {} : { sides: table.sides }),
        ...(table.sectorsPerTrack === undefined ? {} : { sectorsPerTrack: table.sectorsPerTrack }),
        ...(table.stepCode === undefined ? {} : { stepCode: table.stepCode }),
        evidence: [{ file: each.path, offset: each.offset, text: `device descriptor ${each.name}` }],
      },
    ];
  });
  return [image, ...drives];
}

function filesNeeds(entries: readonly Entry[]): FilesNeed[] {
  const records = entries.filter((entry) => entry.records !== undefined);
  if (records.length === 0) return [];
  return [
    {
      kind: "files",
      wants: "record files",
      count: records.length,
      evidence: first(
        records.map((entry) => ({
          file: visible(entry.path),
          offset: 0,
          text: `${formatNumber(entry.records!.count)} records of ${formatNumber(entry.records!.length)} bytes`,
        })),
      ),
    },
  ];
}

function portNeeds(report: SystemReport): PortNeed[] {
  const terminal = report.boot.configuration?.asks.find((each) => each.role === "first terminal")?.name;
  const console = terminal?.replace(/^\/([^/]*).*$/, "$1").toLowerCase();
  return report.descriptors.flatMap((each): PortNeed[] => {
    const { table } = each;
    if (table.kind !== "terminal") return [];
    const { rate, frame, coding, controlByte, rateByte, clockRatio } = table;
    return [
      {
        kind: "port",
        name: each.name,
        address: each.beyond16Bits ? each.address : each.address & 0xffff,
        console: each.name.toLowerCase() === console,
        ...(rate === undefined ? {} : { rate }),
        ...(frame === undefined ? {} : { frame }),
        ...(coding === undefined ? {} : { coding }),
        ...(controlByte === undefined ? {} : { controlByte }),
        ...(rateByte === undefined ? {} : { rateByte }),
        ...(clockRatio === undefined ? {} : { clockRatio }),
        evidence: [{ file: each.path, offset: each.offset + 0x0e, text: `device descriptor ${each.name}` }],
      },
    ];
  });
}

function screenNeeds(report: SystemReport, use: ScreenUse): ScreenNeed[] {
  const widest = [...use.widest].sort((a, b) => b.columns - a.columns);
  const paged = report.descriptors.filter((each) => each.table.kind === "terminal" && each.table.rows !== undefined);
  if (widest.length === 0 && paged.length === 0) return [];
  const rows = paged.map((each) => (each.table.kind === "terminal" ? (each.table.rows ?? 0) : 0));
  return [
    {
      kind: "screen",
      ...(widest[0] ? { columns: widest[0].columns } : {}),
      ...(rows.length > 0 ? { rows: Math.max(...rows) } : {}),
      widths: [...use.widths].flatMap((lines, columns) => (lines > 0 ? [{ columns, lines }] : [])),
      evidence: [
        ...first(widest.map(({ file, offset, text }) => ({ file, offset, text }))),
        ...first(
          paged.map((each, i) => ({
            file: each.path,
            offset: each.offset,
            text: `device descriptor ${each.name}: ${rows[i]} lines a page`,
          })),
        ),
      ],
    },
  ];
}

function controlsNeeds(use: ScreenUse): ControlsNeed[] {
  const found = [...use.controls].sort(([a], [b]) => (a < b ? -1 : 1));
  if (found.length === 0) return [];
  return [
    {
      kind: "controls",
      functions: found.map(([name, { times }]) => ({ name, times })),
      evidence: found.map(([name, { file, offset, text }]) => ({ file, offset, text: `${name}: ${text}` })),
    },
  ];
}
