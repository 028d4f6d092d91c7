import type { MemoryMap } from "./map.ts";
import type { MapState } from "./state.ts";

/** What a drawing of a map needs: the CPU's space on one side, the physical chips on the other, lines between them. */
export interface MemoryPicture {
  state: MapState;
  /** The CPU's 64 KiB from address 0 up. */
  space: readonly {
    from: number;
    to: number;
    kind: "ram" | "rom" | "io" | "window" | "hole" | "clash";
    title: string;
    bank?: number;
    block?: number;
    mirror: boolean;
    hidden: readonly string[];
  }[];
  parts: readonly {
    name: string;
    kind: "ram" | "rom" | "io" | "window";
    board?: string;
    chips?: string;
    rows?: number;
    columns?: number;
    places?: readonly string[];
    bytes: number;
    banks?: number;
    bank?: number;
  }[];
  /** From addresses of the CPU to bytes of a part. */
  lines: readonly {
    from: number;
    to: number;
    part: string;
    first: number;
    last: number;
    access: "read" | "write" | "both";
  }[];
  latches: readonly { name: string; bits: number; value: number; at?: number; readable?: boolean }[];
  translation?: { on: boolean; task: number; tasks: number; block: number; blocks: number; map: readonly number[] };
}

/** The picture of a map in one state, as plain data. */
export function pictureOf(map: MemoryMap, state: MapState = map.powerOn): MemoryPicture {
  const view = map.view(state);
  const held = state.translation;
  return {
    state,
    space: view.map(({ from, to, read, write, clash, hidden }) => {
      const answer = read ?? write;
      return {
        from,
        to,
        kind: clash.length > 0 ? "clash" : (answer?.kind ?? "hole"),
        title: clash.length > 0 ? clash.join(" and ") : (answer?.region ?? "nothing answers"),
        mirror: answer?.mirror ?? false,
        hidden,
        ...(answer?.bank === undefined ? {} : { bank: answer.bank }),
        ...(answer?.block === undefined ? {} : { block: answer.block }),
      };
    }),
    parts: map.parts.map(({ name, kind, board, chips, rows, columns, places, bytes, banks, bank }) => ({
      name,
      kind,
      bytes,
      ...(board === undefined ? {} : { board }),
      ...(chips === undefined ? {} : { chips }),
      ...(rows === undefined ? {} : { rows }),
      ...(columns === undefined ? {} : { columns }),
      ...(places === undefined ? {} : { places }),
      ...(banks === undefined ? {} : { banks }),
      ...(bank === undefined ? {} : { bank }),
    })),
    lines: view.flatMap(({ from, to, read, write }) => {
      const line = (answer: NonNullable<typeof read>, access: "read" | "write" | "both") => ({
        from,
        to,
        part: answer.part,
        first: answer.offset,
        last: answer.offset + to - from,
        access,
      });
      if (read && write && read.part === write.part && read.offset === write.offset) return [line(read, "both")];
      return [...(read ? [line(read, "read")] : []), ...(write ? [line(write, "write")] : [])];
    }),
    latches: map.latches.map(({ name, bits, at, readable }) => ({
      name,
      bits,
      value: state.latches[name] ?? 0,
      ...(at === undefined ? {} : { at }),
      ...(readable === undefined ? {} : { readable }),
    })),
    ...(map.translation && held
      ? {
          translation: {
            on: held.on,
            task: held.task,
            tasks: map.translation.tasks,
            block: map.translation.block,
            blocks: map.translation.blocks,
            map: held.maps[held.task] ?? [],
          },
        }
      : {}),
  };
}
