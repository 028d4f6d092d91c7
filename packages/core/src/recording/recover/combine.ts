import type { TrackForm } from "../form.ts";
import { checkedBytes, type FoundSector, readData, readId, type SectorId } from "../scan.ts";
import { type ReadCells, timeOfCell } from "./loop.ts";
import { apart, placeOnTurn, type Turns } from "./turns.ts";
import { voteField } from "./vote.ts";

/** One pass over the capture: its cells, and the sectors found in them. */
export interface Pass {
  read: ReadCells;
  sectors: readonly FoundSector[];
}

/** What a sector's number rests on: an ID with a good check, IDs voted over, its place on the turn, or being the last one left. */
export type IdBasis = "check" | "vote" | "place" | "last one left";
/** What its data rest on. `unproved`: bytes were read, and no check agrees. */
export type DataBasis = "check" | "vote" | "unproved" | "nothing";

export interface RecoveredSector {
  sector: number;
  data: Uint8Array | undefined;
  basis: DataBasis;
  idBasis: IdBasis | undefined;
  /** Turns in which its data were found, in which their check agreed, and in which these very bytes passed it. */
  turnsRead: number;
  turnsGood: number;
  turnsAgreeing: number;
  /** For `vote` and `unproved`: agreement of the weakest cell, 0 to 1, and the bytes below one half. */
  confidence: number;
  weakBytes: number[];
  /** Marked as deleted data. */
  deleted: boolean;
  /** Share of the turn at which its data begin. */
  share: number | undefined;
  /** The above in one sentence. */
  rests: string;
}

/** Sectors whose number is not known: where they lie, and whether their data pass the check. */
export interface UnnamedSector {
  share: number;
  turnsRead: number;
  good: boolean;
}

export interface Combined {
  sectors: RecoveredSector[];
  unnamed: UnnamedSector[];
  /** IDs that name another track or a sector that the recording doesn't have, each once. */
  strays: SectorId[];
}

/** Fields closer together than this share of a turn are the same place: a third of the shortest sector there is. */
const SAME_PLACE = 0.004;

/** A sector seen in one turn by one pass. */
interface Sight extends FoundSector {
  pass: number;
  turn: number;
  idShare: number | undefined;
  dataShare: number | undefined;
}

const sightsOf = (passes: readonly Pass[], turns: Turns): Sight[] =>
  passes.flatMap(({ read, sectors }, pass) =>
    sectors.map((sector): Sight => {
      const place = (cell: number | undefined) =>
        cell === undefined ? undefined : placeOnTurn(turns, timeOfCell(read, cell));
      const id = place(sector.id?.at);
      const data = place(sector.data?.at);
      return { ...sector, pass, turn: (id ?? data)!.turn, idShare: id?.share, dataShare: data?.share };
    }),
  );

/** Sights that share a place on the turn. */
interface Cluster {
  share: number;
  sights: Sight[];
}

function cluster(sights: readonly Sight[]): Cluster[] {
  const clusters: Cluster[] = [];
  for (const sight of sights) {
    const share = sight.dataShare ?? sight.idShare ?? 0;
    const near = clusters.find((each) => apart(each.share, share) < SAME_PLACE);
    if (near) near.sights.push(sight);
    else if (clusters.length < 256) clusters.push({ share, sights: [sight] });
  }
  return clusters;
}

const turnsOf = (sights: readonly Sight[]): number => new Set(sights.map(({ turn }) => turn)).size;

const sameBytes = (one: Uint8Array, other: Uint8Array): boolean => {
  for (let i = 0; i < one.length; i++) if (one[i] !== other[i]) return false;
  return one.length === other.length;
};

/**
 * Does a vote contradict bytes that passed a check of 8 bits? Such a check lets one wrong block in 256 through, and over many
 * turns that happens: the wrong bytes then stand against the other turns.
 */
function contradicted(bytes: Uint8Array, vote: { data: Uint8Array; good: boolean; confidence: Float32Array }): boolean {
  return bytes.some((byte, i) => byte !== vote.data[i] && (vote.good || vote.confidence[i]! > 0.3));
}

/** The data of one sector out of all its sights: by the check, else by vote. */
function settle(
  sector: number,
  idBasis: IdBasis | undefined,
  sights: readonly Sight[],
  passes: readonly Pass[],
  form: TrackForm,
): RecoveredSector {
  const withData = sights.filter(({ data }) => data?.data.length === form.size);
  const share = withData[0]?.dataShare;
  const deleted =
    withData.length > 0 && withData.filter(({ data }) => data!.mark === 0xf8).length * 2 > withData.length;
  const base = { sector, idBasis, turnsRead: turnsOf(withData), deleted, share, confidence: 1, weakBytes: [] };
  const none = { turnsGood: 0, turnsAgreeing: 0 };
  if (withData.length === 0) {
    const rests = idBasis ? "an ID was found, and no data after it" : "no ID was found";
    return { ...base, ...none, data: undefined, basis: "nothing", rests };
  }

  const bytes = checkedBytes(form.code, "data", form.size);
  const voters = withData.filter(({ pass }) => pass === 0);
  const electorate = voters.length > 0 ? voters : withData;
  const vote = () => {
    const reads = electorate.map(({ pass, data }) => ({ stream: passes[pass]!.read, at: data!.contentAt }));
    const { cells, confidence } = voteField(reads, bytes, form.code);
    return { ...readData(cells, 0, form.code, form.size, electorate[0]!.data!.mark), confidence };
  };

  const good = withData.filter(({ data }) => data!.good);
  const turnsGood = turnsOf(good);
  const kinds: Sight[][] = [];
  for (const sight of good) {
    const kind = kinds.find((each) => sameBytes(each[0]!.data!.data, sight.data!.data));
    if (kind) kind.push(sight);
    else kinds.push([sight]);
  }
  const best = kinds.reduce<Sight[]>((most, each) => (turnsOf(each) > turnsOf(most) ? each : most), []);
  const turnsAgreeing = turnsOf(best);
  const weak = form.code === "zoned 4-to-5 group code" && turnsAgreeing === 1 && base.turnsRead >= 3;
  if (best.length > 0 && !(weak && contradicted(best[0]!.data!.data, vote()))) {
    const rests =
      kinds.length === 1
        ? `the check agrees in ${turnsGood} of ${base.turnsRead} turns`
        : `the check agrees in ${turnsGood} turns but not on the same bytes; ${turnsAgreeing} give these`;
    return { ...base, turnsGood, turnsAgreeing, data: best[0]!.data!.data, basis: "check", rests };
  }

  const { data, good: passed, confidence } = vote();
  const weakBytes: number[] = [];
  confidence.forEach((value, byte) => {
    if (value < 0.5 && byte < form.size) weakBytes.push(byte);
  });
  const least = confidence.reduce((low, value) => Math.min(low, value), 1);
  const over = `a vote over ${turnsOf(electorate)} turns`;
  let rests = "one turn was read, and its check is wrong";
  if (best.length > 0) rests = `a check of 8 bits agrees in one turn only, and ${over} contradicts it`;
  else if (passed) rests = `no turn passes the check by itself; ${over} does`;
  else if (electorate.length > 1) rests = `no check agrees; ${over} leaves ${weakBytes.length} bytes in doubt`;
  return {
    ...base,
    turnsGood,
    turnsAgreeing: 0,
    data,
    basis: passed ? "vote" : "unproved",
    confidence: least,
    weakBytes,
    rests,
  };
}

/**
 * Brings the turns together. Numbers come from IDs with a good check; what has none is named by its place on the turn, by
 * a vote over its IDs, or by being the last one left. Data come from a read whose check agrees, else from a vote.
 */
export function combine(passes: readonly Pass[], turns: Turns, form: TrackForm): Combined {
  const named = new Map<number, { basis: IdBasis; sights: Sight[] }>();
  const nameless: Sight[] = [];
  const strays = new Map<string, SectorId>();
  const belongs = (id: SectorId): boolean =>
    id.track === form.trackNumber &&
    id.size === form.size &&
    id.sector >= form.firstSector &&
    id.sector < form.firstSector + form.sectors;
  const name = (sector: number, basis: IdBasis, sights: readonly Sight[]): void => {
    const known = named.get(sector);
    if (known) known.sights.push(...sights);
    else named.set(sector, { basis, sights: [...sights] });
  };
  for (const sight of sightsOf(passes, turns)) {
    if (!sight.id?.good) nameless.push(sight);
    else if (belongs(sight.id.id)) name(sight.id.id.sector, "check", [sight]);
    else if (strays.size < 256) {
      const { track, head, sector, size } = sight.id.id;
      strays.set(`${track} ${head} ${sector} ${size}`, sight.id.id);
    }
  }

  // Where each named sector's data begin; one that never had any, by how far data lie behind IDs elsewhere.
  const every = [...named].flatMap(([sector, { sights }]) => sights.map((sight) => ({ sector, sight })));
  const whole = every.find(({ sight }) => sight.idShare !== undefined && sight.dataShare !== undefined)?.sight;
  const behind = whole ? (whole.dataShare! - whole.idShare! + 1) % 1 : undefined;
  const placed = new Map<number, number>();
  for (const { sector, sight } of every) {
    const share = sight.dataShare ?? (behind === undefined ? undefined : (sight.idShare! + behind) % 1);
    if (share !== undefined && !placed.has(sector)) placed.set(sector, share);
  }
  const lost: Sight[] = [];
  for (const sight of nameless) {
    const share = sight.dataShare ?? (behind === undefined ? undefined : (sight.idShare! + behind) % 1);
    const near = share === undefined ? undefined : [...placed].find(([, other]) => apart(share, other) < SAME_PLACE);
    if (near) name(near[0], "place", [sight]);
    else lost.push(sight);
  }

  let unnamed: Cluster[] = [];
  for (const each of cluster(lost)) {
    const ids = each.sights.filter(({ id, pass }) => id && pass === 0);
    const reads = ids.map(({ pass, id }) => ({ stream: passes[pass]!.read, at: id!.contentAt }));
    const voted =
      reads.length > 1
        ? readId(voteField(reads, checkedBytes(form.code, "ID", 0), form.code).cells, 0, form.code)
        : undefined;
    if (voted && belongs(voted) && !named.has(voted.sector)) name(voted.sector, "vote", each.sights);
    else if (each.sights.some(({ data }) => data)) unnamed.push(each);
  }
  const numbers = Array.from({ length: form.sectors }, (_, k) => form.firstSector + k);
  const missing = numbers.filter((sector) => !named.has(sector));
  if (missing.length === 1 && unnamed.length === 1) {
    name(missing[0]!, "last one left", unnamed[0]!.sights);
    unnamed = [];
  }
  return {
    sectors: numbers.map((sector) => {
      const known = named.get(sector);
      return settle(sector, known?.basis, known?.sights ?? [], passes, form);
    }),
    unnamed: unnamed.map(({ share, sights }) => ({
      share,
      turnsRead: turnsOf(sights),
      good: sights.some(({ data }) => data?.good),
    })),
    strays: [...strays.values()],
  };
}
