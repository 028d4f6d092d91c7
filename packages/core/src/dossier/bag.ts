import { InputError } from "../errors/index.ts";
import { formatNumber } from "../quantity/index.ts";

/**
 * BagIt (RFC 8493, version 1.0): a folder whose payload lies in `data/`, with a manifest a hash algorithm. This is the
 * text of its tag files and the reading of them; hashing and files are the caller's.
 */

export const ALGORITHMS = ["sha256", "sha512"] as const;
export type Algorithm = (typeof ALGORITHMS)[number];

export interface PayloadFile {
  /** Path below the bag, `data/…`, parts joined by `/`. */
  path: string;
  bytes: Uint8Array;
}

export type Hash = (algorithm: Algorithm, bytes: Uint8Array) => string;

/** RFC 8493 section 2.1.3: CR, LF and % of a path are written in percent form. */
const writtenPath = (path: string): string =>
  path.replaceAll("%", "%25").replaceAll("\r", "%0D").replaceAll("\n", "%0A");

const readPath = (path: string): string =>
  path.replaceAll(/%0D/gi, "\r").replaceAll(/%0A/gi, "\n").replaceAll("%25", "%");

/** ISO 646 and UTF-8 alike: the tag files hold only what was put in by us. */
function utf8(text: string): Uint8Array {
  const out: number[] = [];
  for (const character of text) {
    const code = character.codePointAt(0)!;
    if (code < 0x80) out.push(code);
    else if (code < 0x800) out.push(0xc0 | (code >> 6), 0x80 | (code & 0x3f));
    else if (code < 0x10000) out.push(0xe0 | (code >> 12), 0x80 | ((code >> 6) & 0x3f), 0x80 | (code & 0x3f));
    else out.push(0xf0 | (code >> 18), 0x80 | ((code >> 12) & 0x3f), 0x80 | ((code >> 6) & 0x3f), 0x80 | (code & 0x3f));
  }
  return Uint8Array.from(out);
}

const manifest = (files: readonly PayloadFile[], algorithm: Algorithm, hash: Hash): string =>
  files.map(({ path, bytes }) => `${hash(algorithm, bytes)}  ${writtenPath(path)}\n`).join("");

const inOrder = <T extends { path: string }>(files: readonly T[]): T[] =>
  [...files].sort((a, b) => (a.path < b.path ? -1 : a.path > b.path ? 1 : 0));

/**
 * All files of a bag. The same payload and info give the same bytes. `info` are lines of `bag-info.txt`, label and
 * value, in the order to write; the Payload-Oxum is added.
 */
export function makeBag(
  payload: readonly PayloadFile[],
  info: readonly (readonly [label: string, value: string])[],
  hash: Hash,
): PayloadFile[] {
  const files = inOrder(payload);
  for (const { path } of files)
    if (!path.startsWith("data/")) throw new InputError("not-payload", `“${path}” does not lie in data/.`);
  const octets = files.reduce((sum, { bytes }) => sum + bytes.length, 0);
  const tags: PayloadFile[] = inOrder([
    { path: "bagit.txt", bytes: utf8("BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n") },
    {
      path: "bag-info.txt",
      bytes: utf8(
        [...info, ["Payload-Oxum", `${octets}.${files.length}`] as const]
          .map(([label, value]) => `${label}: ${value.replaceAll(/[\r\n]+/g, " ")}\n`)
          .join(""),
      ),
    },
    ...ALGORITHMS.map((algorithm) => ({
      path: `manifest-${algorithm}.txt`,
      bytes: utf8(manifest(files, algorithm, hash)),
    })),
  ]);
  return [
    ...tags,
    ...ALGORITHMS.map((algorithm) => ({
      path: `tagmanifest-${algorithm}.txt`,
      bytes: utf8(manifest(tags, algorithm, hash)),
    })),
    ...files,
  ];
}

/** Something about a bag that is not as it should be. */
export interface BagFault {
  path: string;
  sentence: string;
}

/** What a verification asks of the bag's folder. */
export interface BagReader {
  /** Every file below the bag, parts joined by `/`. */
  list(): Promise<readonly string[]>;
  read(path: string): Promise<Uint8Array>;
}

const MANIFEST = /^(tag)?manifest-([a-z0-9]+)\.txt$/;

/** Reads a manifest's lines: checksum, white space, path (RFC 8493 section 2.1.3). */
function readManifest(text: string, name: string, faults: BagFault[]): Map<string, string> {
  const found = new Map<string, string>();
  let written = "";
  text.split(/\r\n|\r|\n/).forEach((line, index) => {
    if (line === "") return;
    const match = /^([0-9a-fA-F]+)[ \t]+\*?(.+)$/.exec(line);
    if (!match) {
      faults.push({ path: name, sentence: `line ${index + 1} is not a checksum and a path` });
      return;
    }
    const path = readPath(match[2]!.replace(/^\.\//, ""));
    if (found.has(path)) faults.push({ path: name, sentence: `“${path}” is listed twice` });
    found.set(path, match[1]!.toLowerCase());
    written += match[1]!;
  });
  // Either case is allowed; both in one manifest means that a bit of it was changed.
  if (written !== written.toLowerCase() && written !== written.toUpperCase())
    faults.push({ path: name, sentence: "its checksums mix capitals and small letters" });
  return found;
}

/**
 * Verifies a bag after RFC 8493 section 3: complete (everything listed is there, nothing else in `data/`) and valid
 * (every checksum agrees). No faults means a valid bag. Manifests of algorithms that are not known here are told.
 */
export async function verifyBag(
  reader: BagReader,
  hash: Hash,
  decode: (bytes: Uint8Array) => string,
): Promise<BagFault[]> {
  const faults: BagFault[] = [];
  const files = new Set(await reader.list());
  const fault = (path: string, sentence: string) => faults.push({ path, sentence });
  if (!files.has("bagit.txt")) return [{ path: "bagit.txt", sentence: "it is not there: this is no bag" }];
  const declaration = decode(await reader.read("bagit.txt")).split(/\r\n|\r|\n/);
  if (!/^BagIt-Version: \d+\.\d+$/.test(declaration[0] ?? ""))
    fault("bagit.txt", "its first line should be “BagIt-Version: 1.0”");
  if (!/^Tag-File-Character-Encoding: UTF-8$/i.test(declaration[1] ?? ""))
    fault("bagit.txt", "its second line should be “Tag-File-Character-Encoding: UTF-8”");
  const payload = [...files].filter((path) => path.startsWith("data/"));
  let manifests = 0;
  for (const name of [...files].sort()) {
    const match = MANIFEST.exec(name);
    if (!match) continue;
    const [, tag, algorithm] = match;
    if (!ALGORITHMS.some((each) => each === algorithm)) {
      fault(name, `the algorithm “${algorithm}” is not known here; its checksums were not compared`);
      continue;
    }
    if (!tag) manifests++;
    const listed = readManifest(decode(await reader.read(name)), name, faults);
    for (const [path, checksum] of listed) {
      if (!files.has(path)) fault(path, `it is listed in ${name} and is not there`);
      else if (hash(algorithm as Algorithm, await reader.read(path)) !== checksum)
        fault(path, `its ${algorithm} differs from ${name}`);
    }
    if (!tag) for (const path of payload) if (!listed.has(path)) fault(path, `it is not listed in ${name}`);
  }
  if (manifests === 0) fault("manifest-sha512.txt", "there is no manifest of a known algorithm");
  if (files.has("bag-info.txt")) {
    const oxum = /^Payload-Oxum:\s*(\d+)\.(\d+)\s*$/m.exec(decode(await reader.read("bag-info.txt")));
    if (oxum) {
      let octets = 0;
      for (const path of payload) octets += (await reader.read(path)).length;
      if (octets !== Number(oxum[1]) || payload.length !== Number(oxum[2]))
        fault(
          "bag-info.txt",
          `its Payload-Oxum is ${oxum[1]}.${oxum[2]}, and the payload has ${formatNumber(octets, 15).replaceAll(",", "")}.${payload.length}`,
        );
    }
  }
  return faults;
}
