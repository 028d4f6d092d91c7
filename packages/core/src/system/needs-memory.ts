import { address as addressText, visible } from "../bytes/index.ts";
import { formatNumber } from "../quantity/index.ts";
import type { Entry } from "../volume/index.ts";
import type { Ask } from "./asks.ts";
import { type MemoryNeed, MOST_EVIDENCE, type TranslationNeed } from "./needs-types.ts";
import type { LoadedProgram } from "./startup.ts";
import type { PlacedModule, SystemReport } from "./survey-system.ts";

/** Memory is given out in pages of this size on segment-list systems (from memory). */
const PAGE = 256;
/** What a 16-bit address sees. */
const SIXTEEN_BITS = 0x10000;

const pages = (bytes: number): number => Math.ceil(bytes / PAGE) * PAGE;

const bytesText = (bytes: number): string => `${formatNumber(bytes, 8)} bytes`;

/** Memory for the boot file and the programs asked for at boot and start-up, and for programs with a fixed place. */
export function memoryNeeds(report: SystemReport, entries: readonly Entry[]): MemoryNeed[] {
  return [...systemMemory(report, entries), ...programMemory(report.programs)];
}

/**
 * Boot file in one run, the data memory of the start module, and the largest program that a script or an account asks
 * for, with its data memory; each in whole pages. Programs that run at the same time add to it: "at least".
 */
function systemMemory(report: SystemReport, entries: readonly Entry[]): MemoryNeed[] {
  const { file } = report.boot;
  const entry = entries.find((each) => visible(each.path) === file);
  if (file === undefined || !entry || entry.size === 0) return [];
  const parts = [{ what: `boot file ${file}`, bytes: pages(entry.size) }];
  const evidence = [{ file, offset: 0, text: `boot file of ${bytesText(entry.size)}` }];
  const add = (module: PlacedModule, code: number, data: number): void => {
    if (code > 0) parts.push({ what: `module ${module.name}`, bytes: code });
    if (data > 0) parts.push({ what: `storage of ${module.name}`, bytes: data });
    evidence.push({
      file: module.path,
      offset: module.offset,
      text: `module ${module.name}: ${bytesText(module.size)}, storage ${bytesText(module.storage ?? 0)}`,
    });
  };
  const placed = new Map(report.modules.map((each) => [`${each.offset} ${each.path}`, each]));
  const answer = ({ found }: Ask): PlacedModule | undefined => found && placed.get(`${found.offset} ${found.file}`);
  const start = report.asks.find((each) => each.role === "start module");
  const startModule = start && answer(start);
  if (startModule)
    add(startModule, startModule.path === file ? 0 : pages(startModule.size), pages(startModule.storage ?? 0));
  const largest = report.asks
    .filter((each) => each.role === "command" || each.role === "login program")
    .flatMap((each) => answer(each) ?? [])
    .map((module) => ({
      module,
      code: module.path === file ? 0 : pages(module.size),
      data: pages(module.storage ?? 0),
    }))
    .sort((a, b) => b.code + b.data - a.code - a.data)[0];
  if (largest && largest.module !== startModule) add(largest.module, largest.code, largest.data);
  const bytes = parts.reduce((sum, each) => sum + each.bytes, 0);
  return [
    {
      kind: "memory",
      bytes,
      contiguous: Math.max(...parts.map((each) => each.bytes)),
      parts,
      computed: `${parts.map((each) => `${each.what} ${formatNumber(each.bytes, 8)}`).join(" + ")} = ${bytesText(bytes)}, in pages of ${PAGE}`,
      evidence,
    },
  ];
}

/** For each load address the largest program; the most demanding addresses first. */
function programMemory(programs: readonly LoadedProgram[]): MemoryNeed[] {
  const largest = new Map<number, LoadedProgram>();
  for (const program of programs) {
    const before = largest.get(program.loadAt);
    if (!before || program.size > before.size) largest.set(program.loadAt, program);
  }
  return [...largest.values()]
    .sort((a, b) => b.size - a.size)
    .slice(0, MOST_EVIDENCE)
    .map((program) => ({
      kind: "memory",
      bytes: program.size,
      contiguous: program.size,
      from: program.loadAt,
      last: program.last,
      parts: [{ what: `program ${program.path}`, bytes: program.size }],
      computed: `${addressText(program.loadAt)} + ${formatNumber(program.size, 8)} − 1 = ${addressText(program.last)}`,
      evidence: [{ file: program.path, offset: 0, text: `${bytesText(program.size)}; ${program.how}` }],
    }));
}

/**
 * Three rules, each with its own evidence: the configuration module's top of memory lies beyond FFFF; a descriptor's
 * controller does; the memory needed is more than a 16-bit address sees. A top byte of FF is a 16-bit address with the
 * sign carried on, not a demand.
 */
export function translationNeeds(report: SystemReport, entries: readonly Entry[]): TranslationNeed[] {
  const needs: TranslationNeed[] = [];
  const { configuration } = report.boot;
  if (configuration && configuration.topOfMemory >= SIXTEEN_BITS && configuration.topOfMemory >> 16 !== 0xff)
    needs.push({
      kind: "translation",
      rule: "top of memory",
      sentence: `The configuration module sets the top of memory at ${addressText(configuration.topOfMemory)}, beyond what 16 bits reach.`,
      reach: configuration.topOfMemory,
      evidence: [
        {
          file: configuration.path,
          offset: configuration.offset + 9,
          text: `configuration module ${configuration.name}: top of memory ${addressText(configuration.topOfMemory)}`,
        },
      ],
    });
  for (const each of report.descriptors)
    if (each.beyond16Bits)
      needs.push({
        kind: "translation",
        rule: "device address",
        sentence: `Device ${each.name} is at ${addressText(each.address)}, beyond what 16 bits reach.`,
        reach: each.address,
        evidence: [{ file: each.path, offset: each.offset + 0x0e, text: `device descriptor ${each.name}` }],
      });
  for (const { bytes, evidence, computed } of memoryNeeds(report, entries))
    if (bytes > SIXTEEN_BITS)
      needs.push({
        kind: "translation",
        rule: "more than 64 KiB",
        sentence: `The system needs ${bytesText(bytes)} (${computed}); a 16-bit address sees 65,536.`,
        reach: bytes,
        evidence,
      });
  return needs;
}
