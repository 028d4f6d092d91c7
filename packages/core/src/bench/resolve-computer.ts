import { type findChip, linesOf } from "../catalogue/index.ts";
import { InputError } from "../errors/index.ts";
import { keyOf } from "./read.ts";
import { given, originOf, type Path } from "./resolve-kit.ts";
import { logicOf, maskOf } from "./resolve-logic.ts";
import type { BenchFile } from "./schema.ts";
import type {
  BenchBoard,
  BenchComputer,
  BenchLatch,
  BenchLines,
  BenchPath,
  BenchRail,
  BenchStage,
  BenchTimer,
} from "./types.ts";

type Written = NonNullable<BenchFile["computer"]>;
type ChipOf = (part: string | undefined) => ReturnType<typeof findChip>;
type Wrong = (path: Path, sentence: string) => void;

/** Lines as a list of names, or nothing and an issue. */
function listed(text: string, path: Path, wrong: Wrong): string[] {
  try {
    return linesOf(text);
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    wrong(path, error.message);
    return [];
  }
}

/** Looks the computer's parts up, and joins what its keys say of each other. */
export function computerOf(written: Written, chipOf: ChipOf, wrong: Wrong): BenchComputer {
  const boards = Object.entries(written.boards ?? {}).map(([name, board]) => boardOf(name, board, chipOf, wrong));
  const boardNames = new Set(boards.map((each) => each.name));
  const onBoard = (name: string | undefined, path: Path) => {
    if (name !== undefined && !boardNames.has(name)) wrong(path, `There is no board called “${name}” on this bench`);
  };
  const regionNames = new Set(Object.keys(written.memory ?? {}));
  const isRegion = (name: string, path: Path) => {
    if (!regionNames.has(name)) wrong(path, `There is no region called “${name}” under computer.memory`);
  };
  const { logic, read } = logicOf(written, chipOf, wrong);
  const translation = written.translation;
  onBoard(translation?.board, ["computer", "translation", "board"]);
  for (const [index, name] of (translation?.order ?? []).entries())
    isRegion(name, ["computer", "translation", "order", index]);
  const block = translation?.block?.value;
  if (block !== undefined && !(block >= 256 && block <= 0x8000 && Number.isInteger(Math.log2(block))))
    wrong(["computer", "translation", "block"], "A block is a power of two, 256 bytes to 32 KiB");
  const paths = Object.entries(written.paths ?? {}).map(([name, way]): BenchPath => {
    const path = ["computer", "paths", name];
    isRegion(way.region, [...path, "region"]);
    const stages = (key: "through" | "back") =>
      (way[key] ?? []).map((stage, index): BenchStage => {
        const at = [...path, key, index];
        onBoard(stage.board, [...at, "board"]);
        const chip = chipOf(stage.part);
        const known = chip?.delays.map((each) => each.path) ?? [];
        if (stage.path !== undefined && known.length > 0 && !known.includes(stage.path))
          wrong([...at, "path"], `${stage.part} has no delay “${stage.path}”; it has ${known.join(", ")}`);
        return given({
          path: keyOf(at),
          part: stage.part,
          chip,
          delay: stage.path,
          board: stage.board,
          note: stage.note,
        }) as BenchStage;
      });
    const part = way.chip ?? written.memory?.[way.region]?.chips;
    return given({
      name,
      path: keyOf(path),
      region: way.region,
      through: stages("through"),
      back: stages("back"),
      memory: part === undefined ? undefined : given({ part, chip: chipOf(part) }),
      access: way.access,
      starts: way.starts,
      waits: way.waits ?? written.memory?.[way.region]?.waits ?? 0,
    }) as BenchPath;
  });
  return given({
    name: written.name ?? "the computer",
    cpu: written.cpu && given({ ...written.cpu, chip: chipOf(written.cpu.part) }),
    regions: Object.entries(written.memory ?? {}).map(([name, region]) => {
      const path = ["computer", "memory", name];
      const to = region.at + region.size.value - 1;
      onBoard(region.board, [...path, "board"]);
      if (region.shares !== undefined) isRegion(region.shares, [...path, "shares"]);
      if (region.shares === name) wrong([...path, "shares"], "A region cannot share its own chips");
      let decode: number | undefined;
      if (region.decode !== undefined) {
        const mask = maskOf(listed(region.decode, [...path, "decode"], wrong));
        if (typeof mask === "string") wrong([...path, "decode"], mask);
        else if (!Number.isInteger(Math.log2(region.size.value)) || region.at % region.size.value !== 0)
          wrong(
            [...path, "decode"],
            "A region with `decode` begins at a multiple of its size, which is a power of two",
          );
        else decode = mask;
      }
      const select = (typeof region.select === "string" ? [region.select] : (region.select ?? [])).flatMap(
        (text, index, all) => {
          const equation = read(text, [...path, "select", ...(all.length > 1 ? [index] : [])]);
          return equation ? [{ text, logic: equation }] : [];
        },
      );
      if (region.size.value < 1 || !Number.isInteger(region.size.value))
        wrong([...path, "size"], `“${region.size.text}” is not a whole number of bytes`);
      else if (to > 0xffff && region.kind !== "window")
        wrong([...path, "size"], `This region would end beyond $FFFF, where a 16-bit address ends`);
      if (region.kind === "window" && region.banks === undefined)
        wrong(path, `The window “${name}” needs “banks”: how many banks lie behind it`);
      return given({
        name,
        path: keyOf(path),
        kind: region.kind,
        from: region.at,
        to,
        banks: region.banks,
        latch: region.latch && given(region.latch),
        chips: region.chips,
        chip: chipOf(region.chips),
        decode,
        select: select.length > 0 ? select : undefined,
        when: region.when === undefined ? undefined : read(region.when, [...path, "when"]),
        only: region.only,
        board: region.board,
        places: region.places,
        shares: region.shares,
        offset: region.offset,
        waits: region.waits,
        file: region.file,
        origin: region.file === undefined ? undefined : originOf(region),
        under: region.under ?? false,
      }) as BenchComputer["regions"][number];
    }),
    translation: translation && given(translation),
    latches: Object.entries(written.latches ?? {}).map(
      ([name, latch]): BenchLatch =>
        given({ ...latch, name, path: keyOf(["computer", "latches", name]), port: latch.port ?? false }) as BenchLatch,
    ),
    logic,
    paths,
    boards,
    rails: Object.entries(written.supply ?? {}).map(
      ([name, rail]): BenchRail =>
        given({
          name,
          path: keyOf(["computer", "supply", name]),
          voltage: rail.voltage,
          limit: rail.limit,
          reserve: rail.reserve,
          unregulated: rail.unregulated && given(rail.unregulated),
          regulator: rail.regulator && given({ ...rail.regulator, chip: chipOf(rail.regulator.part) }),
        }) as BenchRail,
    ),
    controller: written.controller && given({ ...written.controller, path: "computer.controller" }),
    tick: written.tick,
    signals: written.signals,
    timers: Object.entries(written.timers ?? {}).map(
      ([name, timer]) => given({ ...timer, name, path: keyOf(["computer", "timers", name]) }) as BenchTimer,
    ),
    mains: written.mains,
  }) as BenchComputer;
}

function boardOf(
  name: string,
  board: NonNullable<Written["boards"]>[string],
  chipOf: ChipOf,
  wrong: Wrong,
): BenchBoard {
  const path = ["computer", "boards", name];
  const counted = (parts: Record<string, number> | undefined) =>
    Object.entries(parts ?? {}).map(([part, count]) => given({ part, count, chip: chipOf(part) }));
  return given({
    name,
    path: keyOf(path),
    added: board.added ?? false,
    chips: (board.chips ?? []).map(
      (chip, index) =>
        given({
          path: keyOf([...path, "chips", index]),
          part: chip.part,
          count: chip.count ?? 1,
          place: chip.place,
          socketed: chip.socketed,
          chip: chipOf(chip.part),
        }) as BenchBoard["chips"][number],
    ),
    draws: new Map(Object.entries(board.draws ?? {})),
    lines: Object.entries(board.lines ?? {}).map(([title, lines]): BenchLines => {
      const at = [...path, "lines", title];
      return given({
        path: keyOf(at),
        title,
        names: listed(title, at, wrong),
        drivenBy:
          lines.drivenBy === undefined ? undefined : given({ part: lines.drivenBy, chip: chipOf(lines.drivenBy) }),
        loads: counted(lines.loads),
        outputs: counted(lines.outputs),
        length: lines.length,
        capacitance: lines.capacitance,
      }) as BenchLines;
    }),
    feed: board.feed && given(board.feed),
    socket: board.socket && given(board.socket),
    removes: (board.removes ?? []).map((each) => given(each)),
    links: (board.links ?? []).map((each) => given(each)),
    note: board.note,
  }) as BenchBoard;
}
