import { type Catalogue, findChip, type Source, type Sourced } from "../catalogue/index.ts";
import { nearest } from "../errors/nearest.ts";
import { type BenchIssue, keyOf, type ReadBench } from "./read.ts";
import { computerOf } from "./resolve-computer.ts";
import { given, originOf, type Path } from "./resolve-kit.ts";
import type { BenchFile } from "./schema.ts";
import type {
  Bench,
  BenchBus,
  BenchCable,
  BenchDrive,
  BenchImage,
  BenchMedium,
  BenchPort,
  BenchShow,
  BenchTerminal,
  BenchWriter,
  LineEnd,
} from "./types.ts";

/** The source of every value that the person wrote in the bench file. */
export const FROM_BENCH: Source = { id: "bench", title: "your bench file", kind: "user" };

const own = <T>(value: T | undefined, otherwise?: Sourced<T>): Sourced<T> | undefined =>
  value === undefined ? otherwise : { value, source: FROM_BENCH };

/** Looks up the parts and references of a bench file. Names that nothing carries become issues with line and column. */
export function resolveBench(
  file: BenchFile,
  catalogue: Catalogue,
  where: ReadBench["where"],
): { bench: Bench; issues: BenchIssue[] } {
  const issues: BenchIssue[] = [];
  const wrong = (path: Path, sentence: string) => issues.push({ ...where(path), path: keyOf(path), sentence });

  /** A part of the catalogue that the bench names; an unknown name is an issue, as nothing could be read from it. */
  const fromCatalogue = <T>(
    kind: string,
    parts: ReadonlyMap<string, T>,
    name: string | undefined,
    path: Path,
  ): T | undefined => {
    if (name === undefined) return undefined;
    const part = parts.get(name) ?? parts.get(name.toLowerCase());
    if (part) return part;
    const close = nearest(name, parts.keys());
    wrong(
      path,
      `“${name}” is not a ${kind} of the catalogue; ${close ? `did you mean “${close}”?` : `\`rouse catalogue\` lists them`}`,
    );
    return undefined;
  };
  const fromBench = <T>(
    kind: string,
    parts: ReadonlyMap<string, T>,
    name: string | undefined,
    path: Path,
  ): T | undefined => {
    if (name === undefined) return undefined;
    const part = parts.get(name);
    if (part) return part;
    const close = nearest(name, parts.keys());
    const known = [...parts.keys()];
    wrong(
      path,
      `There is no ${kind} called “${name}” on this bench; ${close ? `did you mean “${close}”?` : known.length > 0 ? `there is ${known.map((each) => `“${each}”`).join(", ")}` : `none is described`}`,
    );
    return undefined;
  };
  const chipOf = (part: string | undefined) => (part === undefined ? undefined : findChip(catalogue, part));
  const each = <T, U>(all: Record<string, T> | undefined, make: (name: string, value: T) => U): Map<string, U> =>
    new Map(Object.entries(all ?? {}).map(([name, value]) => [name, make(name, value)]));

  const buses = new Map(Object.entries(file.buses ?? {}));

  const drives = each(file.drives, (name, written): BenchDrive => {
    const path = ["drives", name];
    const known = fromCatalogue("drive class", catalogue.drives, written.class, [...path, "class"]);
    fromBench("bus", buses, written.bus, [...path, "bus"]);
    const classSource: Source | undefined = known && {
      id: `drive class ${known.id}`,
      title: `catalogue, drive class “${known.title}”`,
      kind: known.trackDensity.source.kind,
    };
    const of = <T>(value: T | undefined): Sourced<T> | undefined =>
      value === undefined || !classSource ? undefined : { value, source: classSource };
    return given({
      name,
      path: keyOf(path),
      title: known?.title ?? name,
      class: written.class,
      bus: written.bus,
      address: written.address,
      unit: written.unit,
      size: own<string>(written.size, of<string>(known?.size)),
      sides: own(written.sides, of<number>(known?.sides)),
      tracks: own(written.tracks, of(known?.tracks)),
      trackDensity: own(written.trackDensity, known?.trackDensity),
      rotation: own(written.rotation, known?.rotation),
      codes: own(
        written.codes as BenchDrive["codes"] extends infer C ? (C extends { value: infer V } ? V : never) : never,
        of(known?.codes),
      ),
      rates: known?.rates,
      coercivity: known?.coercivity,
      fileKinds: own<readonly string[]>(written.fileKinds, of(known?.fileKinds)),
      step: own(written.step, known?.step),
      settle: own(written.settle, known?.settle),
      headLoad: own(written.headLoad, known?.headLoad),
      motorStart: own(written.motorStart, known?.motorStart),
      buffers: written.buffers,
      interleave: written.interleave,
      skew: written.skew,
      busKind: of(known?.bus),
    }) as BenchDrive;
  });

  const media = each(file.media, (name, written): BenchMedium => {
    const path = ["media", name];
    const known = fromCatalogue("medium class", catalogue.media, written.class, [...path, "class"]);
    const source: Source | undefined = known && {
      id: `medium class ${known.id}`,
      title: `catalogue, medium class “${known.title}”`,
      kind: known.coercivity.source.kind,
    };
    return given({
      name,
      path: keyOf(path),
      title: known?.title ?? name,
      class: known,
      size: own<string>(written.size, known && source ? { value: known.size, source } : undefined),
      sides: own<number>(written.sides, known && source ? { value: known.sides, source } : undefined),
      coercivity: own(written.coercivity, known?.coercivity),
      trackDensity: own(written.trackDensity, known?.trackDensity),
      bitDensity: known?.bitDensity,
    }) as BenchMedium;
  });

  const images = each(file.images, (name, written): BenchImage => {
    const path = ["images", name];
    return given({
      name,
      path: keyOf(path),
      file: written.file,
      recording: fromCatalogue("recording", catalogue.recordings, written.recording, [...path, "recording"]),
      medium: fromBench("medium", media, written.medium, [...path, "medium"]),
      drive: fromBench("drive", drives, written.drive, [...path, "drive"]),
      interleave: written.interleave,
      skew: written.skew,
      origin: originOf(written),
    }) as BenchImage;
  });

  type WrittenEnd = Pick<
    NonNullable<BenchFile["ports"]>[string],
    "connector" | "role" | "pins" | "levels" | "format" | "handshake" | "contacts" | "away" | "buffer"
  >;
  const lineEnd = (name: string, path: Path, written: WrittenEnd): LineEnd =>
    given({
      name,
      path: keyOf(path),
      connector: fromCatalogue("connector", catalogue.connectors, written.connector, [...path, "connector"]),
      role: written.role,
      pins: new Map(Object.entries(written.pins ?? {}).map(([pin, circuit]) => [Number(pin), circuit])),
      levels: written.levels,
      format: written.format,
      handshake: written.handshake,
      contacts: written.contacts,
      away: written.away,
      buffer: written.buffer,
    }) as LineEnd;

  const ports = each(file.ports, (name, written): BenchPort => {
    const part = (which: string | undefined) =>
      which === undefined ? undefined : given({ part: which, chip: chipOf(which) });
    return {
      ...lineEnd(name, ["ports", name], written),
      ...(given({
        uart: written.uart,
        chip: chipOf(written.uart),
        at: written.at,
        control: written.control,
        clock: written.clock,
        divide: written.divide,
        ratio: written.ratio,
        divisor: written.divisor,
        code: written.code,
        timer: written.timer && given({ ...written.timer, chip: chipOf(written.timer.part) }),
        bitCycles: written.bitCycles,
        driver: part(written.driver),
        receiver: part(written.receiver),
      }) as Partial<BenchPort>),
    };
  });

  const terminals = each(file.terminals, (name, written): BenchTerminal => {
    const path = ["terminals", name];
    const known = fromCatalogue("terminal class", catalogue.terminals, written.class, [...path, "class"]);
    const of = <T>(value: T | undefined): Sourced<T> | undefined =>
      value === undefined || !known ? undefined : { value, source: known.source };
    return {
      ...lineEnd(name, path, written),
      ...(given({
        title: known?.title ?? name,
        class: known,
        rate: written.rate,
        rateError: written.rateError,
        columns: own(written.columns, of(known?.columns)),
        rows: own(written.rows, of(known?.rows)),
        controls: own<readonly string[]>(written.controls, of(known?.controls)),
        display: written.display,
        characterHeight: written.characterHeight,
      }) as Pick<BenchTerminal, "title">),
    };
  });

  const cables: BenchCable[] = [];
  for (const [name, written] of Object.entries(file.cables ?? {})) {
    const path = ["cables", name];
    const from = fromBench("port", ports, written.from, [...path, "from"]);
    const to = fromBench("terminal", terminals, written.to, [...path, "to"]);
    if (written.kind === "wired" && !written.wires)
      wrong([...path, "kind"], "A cable of kind “wired” needs its wires, as [pin, pin] pairs under “wires”");
    if (!from || !to) continue;
    cables.push(
      given({
        name,
        path: keyOf(path),
        from,
        to,
        kind: written.kind,
        wires: written.wires,
        jumpersFrom: written.jumpersFrom ?? [],
        jumpersTo: written.jumpersTo ?? [],
        length: written.length,
        capacitance: written.capacitance,
      }) as BenchCable,
    );
  }

  const show = file.show;
  const resolvedShow =
    show &&
    (given({
      path: "show",
      target: show.target,
      program: show.program,
      image: fromBench("image", images, show.image, ["show", "image"]),
      port: fromBench("port", ports, show.port, ["show", "port"]),
      terminal: fromBench("terminal", terminals, show.terminal, ["show", "terminal"]),
      people: show.people,
      distance: show.distance,
      logins: show.logins,
      loginMemory: show.loginMemory,
      patience: show.patience,
      banner: show.banner,
    }) as BenchShow);

  const bench = given({
    name: file.name,
    about: file.about,
    computer: file.computer && computerOf(file.computer, chipOf, wrong),
    buses: [...buses].map(
      ([name, written]): BenchBus =>
        given({
          name,
          path: keyOf(["buses", name]),
          kind: written.kind,
          devices: [
            ...Object.entries(written.devices ?? {}).map(
              ([device, { address }]) =>
                given({
                  name: device,
                  path: keyOf(["buses", name, "devices", device]),
                  address,
                }) as BenchBus["devices"][number],
            ),
            ...[...drives.values()]
              .filter((drive) => drive.bus === name)
              .map(
                (drive) =>
                  given({ name: drive.name, path: drive.path, address: drive.address }) as BenchBus["devices"][number],
              ),
          ],
          cables: (written.cables ?? []).map((cable) => given(cable) as BenchBus["cables"][number]),
          rate: written.rate,
          command: written.command,
        }) as BenchBus,
    ),
    drives: [...drives.values()],
    media: [...media.values()],
    images: [...images.values()],
    ports: [...ports.values()],
    terminals: [...terminals.values()],
    cables,
    writers: Object.entries(file.writers ?? {}).map(
      ([name, writer]) => given({ name, path: keyOf(["writers", name]), ...writer }) as BenchWriter,
    ),
    show: resolvedShow,
  }) as Bench;
  return { bench, issues: issues.sort((a, b) => a.line - b.line || a.column - b.column) };
}
