import { FormatError, InputError } from "../../errors/index.ts";
import { type Condition, type Content, type Entry, OWNER, type Volume } from "../types.ts";
import { checkBootstrap, checkClashes, checkDeleted, checkLinks, checkMap, takeBootstrap } from "./check.ts";
import { newClaims, newLog, worse } from "./claims.ts";
import { readContent, readDescriptor } from "./descriptor.ts";
import { attributesInLetters } from "./fields.ts";
import {
  blocksOf,
  contradictions,
  formatInWords,
  geometryOf,
  MAP_SECTOR,
  mapBytesFor,
  readIdentification,
  SECTOR,
  type SegmentListOptions,
  sectorName,
} from "./layout.ts";
import { type Walk, walk } from "./walk.ts";

/** Opens an image as a segment-list volume. Throws a `FormatError` only where it has no room for one. */
export function open(image: Uint8Array, options: SegmentListOptions): Volume {
  if (image.length < 2 * SECTOR)
    throw new FormatError("too-short", "A segment-list volume needs an identification sector and a map", image.length);
  const stated = readIdentification(image);
  const blocks = blocksOf(image);
  const log = newLog();
  const claims = newClaims(blocks, options.total);
  const { owners } = claims;

  const wrong = contradictions(stated, options);
  if (wrong.length > 0)
    log.add({
      code: "identification",
      condition: "whole",
      sentence: `Sector 0 contradicts the rest of the image: ${wrong.join("; ")}.`,
      blocks: [0],
      repair: "Write the fitting values into sector 0.",
    });
  if (options.total > image.length / SECTOR)
    log.add({
      code: "image-short",
      condition: "readable with loss",
      sentence: `The volume has ${options.total} sectors, and the image ends after ${Math.floor(image.length / SECTOR)}.`,
      repair: "Read the disk again to its last track.",
    });

  const mapSectors = Math.ceil(mapBytesFor(options.total, options.clusterSectors) / SECTOR);
  for (let block = 0; block < Math.min(MAP_SECTOR + mapSectors, blocks); block++) claims.take(block, OWNER.system);

  const root = readDescriptor(image, options.root);
  const found: Walk = root
    ? walk(image, options.total, root, claims, log)
    : { entries: [], descriptors: new Map(), links: new Map() };
  if (!root)
    log.add({
      code: "no-root",
      condition: "lost",
      sentence: `The root directory's descriptor, ${sectorName(options.root)}, is not in the image: no file can be found by name.`,
      repair: "Read the disk again; else look for descriptors and modules sector by sector.",
    });
  else if (!root.folder)
    log.add({
      code: "root-not-folder",
      condition: "whole",
      sentence: `The root directory's descriptor, ${sectorName(root.lsn)}, lacks the attribute D.`,
      blocks: [root.lsn],
      repair: "Set bit 7 of its attributes.",
    });

  const { entries, descriptors } = found;
  checkClashes(claims.clashes, entries, log);
  takeBootstrap(stated, owners);
  const freeBlocks = checkMap(image, options, owners, entries, log);
  checkLinks(found, log);
  const bootstrap = checkBootstrap(stated, options, owners, found, log);
  checkDeleted(found, owners);

  const damages = log.finish();
  let condition: Condition = root ? "whole" : "lost";
  if (root)
    for (const damage of damages)
      condition = worse(condition, damage.condition === "lost" ? "readable with loss" : damage.condition);

  const beyond = blocks - options.total;
  return {
    kind: "segment-list",
    format: formatInWords(options),
    label: stated.name,
    geometry: geometryOf(options),
    freeBlocks,
    facts: [
      ["Name", stated.name],
      ["Made", stated.created],
      ["Owner", String(stated.owner)],
      ["Attributes", attributesInLetters(stated.attributes)],
      ["Volume number", String(stated.id)],
      ["Sectors", String(options.total)],
      ["Sectors per cluster", String(options.clusterSectors)],
      [
        "Recording",
        `${stated.twoSided ? "two sides" : "one side"}, ${stated.doubleDensity ? "double" : "single"} density, ${stated.narrowTracks ? 96 : 48} tpi`,
      ],
      ["Root directory", sectorName(options.root)],
      ["Bootstrap", bootstrap],
      ...(beyond > 0 ? [["Past the volume's end", `${beyond} sectors of the image`] as const] : []),
    ],
    entries,
    owners,
    damages,
    condition,
    read(entry: Entry): Content {
      const descriptor = descriptors.get(entry);
      if (!descriptor) {
        if (entries.includes(entry)) return { bytes: new Uint8Array(0), condition: "lost", missing: [] };
        throw new InputError("not-here", `${entry.path} is not an entry of this volume.`);
      }
      const { bytes, missing } = readContent(image, descriptor);
      const gone = missing.reduce((sum, each) => sum + each.length, 0);
      const loss = gone === 0 ? "whole" : gone >= descriptor.size ? "lost" : "readable with loss";
      return { bytes, missing, condition: worse(entry.condition, loss) };
    },
  };
}
