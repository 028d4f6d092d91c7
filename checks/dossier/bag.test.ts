/**
 * Bags against the outside: `sha256sum -c` and `sha512sum -c`, the digests of "abc" (FIPS 180), the Payload-Oxum form of
 * RFC 8493 section 2.2.2, and the RFC's rules read by themselves here.
 */
import { execFileSync, spawnSync } from "node:child_process";
import { createHash } from "node:crypto";
import { cpSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { makeBag } from "@rouse/core/dossier";
import { verifyBagFolder, writeBag } from "@rouse/node/store";
import { afterAll, beforeAll, describe, expect, it } from "vitest";

const ROOT = fileURLToPath(new URL("../..", import.meta.url));
const ROUSE = join(ROOT, "packages/node/bin/rouse.js");
let folder: string;
const hash = (algorithm: string, bytes: Uint8Array) => createHash(algorithm).update(bytes).digest("hex");
const abc = { path: "data/a.txt", bytes: new TextEncoder().encode("abc") };
const text = (files: readonly { path: string; bytes: Uint8Array }[], path: string) =>
  new TextDecoder().decode(files.find((each) => each.path === path)!.bytes);

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "rouse-bag-"));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe("a bag of one file", () => {
  const files = makeBag([abc], [["External-Description", "x"]], hash);

  it("has the two lines of bagit.txt, in order, without a byte-order mark (RFC 8493 section 2.1.1)", () => {
    expect(text(files, "bagit.txt")).toBe("BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n");
  });

  it("carries the digests of FIPS 180's example and the octets and streams", () => {
    expect(text(files, "manifest-sha256.txt")).toBe(
      "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad  data/a.txt\n",
    );
    expect(text(files, "manifest-sha512.txt")).toMatch(
      /^ddaf35a193617abacc417349ae204131.*2a9ac94fa54ca49f {2}data\/a\.txt\n$/,
    );
    expect(text(files, "bag-info.txt")).toContain("Payload-Oxum: 3.1\n");
  });

  it("writes CR, LF and % of a path in percent form (section 2.1.3)", () => {
    const odd = makeBag([{ path: "data/a%\nb", bytes: abc.bytes }], [], hash);
    expect(text(odd, "manifest-sha256.txt")).toContain("  data/a%25%0Ab\n");
  });
});

/** The RFC's rules, read anew: complete and valid. */
function isValid(bag: string): boolean {
  const below = (
    readdirSync(bag, { recursive: true, withFileTypes: true }) as {
      name: string;
      parentPath?: string;
      path: string;
      isFile(): boolean;
    }[]
  )
    .filter((each) => each.isFile())
    .map((each) => join(each.parentPath ?? each.path, each.name).slice(bag.length + 1));
  const payload = below.filter((path) => path.startsWith("data/")).sort();
  return ["sha256", "sha512"].every((algorithm) => {
    const lines = readFileSync(join(bag, `manifest-${algorithm}.txt`), "utf8")
      .trim()
      .split("\n");
    const listed = lines.map((line) => line.slice(line.indexOf("  ") + 2));
    return (
      JSON.stringify([...listed].sort()) === JSON.stringify(payload) &&
      lines.every(
        (line) => hash(algorithm, readFileSync(join(bag, line.slice(line.indexOf("  ") + 2)))) === line.split(" ")[0],
      )
    );
  });
}

describe("the bag of a job", () => {
  const bag = () => join(folder, "bag");

  beforeAll(() => {
    cpSync(join(ROOT, "demo/mended"), join(folder, "job"), { recursive: true });
    writeFileSync(
      join(folder, "job/log.jsonl"),
      `${JSON.stringify({ time: "2026-06-06T10:00:00.000Z", kind: "note", text: "<b>first</b> run" })}\n`,
    );
    execFileSync(process.execPath, [ROUSE, "pack", join(folder, "job"), bag()]);
  });

  it("is accepted by sha256sum and sha512sum, and by the rules read anew", () => {
    for (const algorithm of ["sha256", "sha512"]) {
      execFileSync(`${algorithm}sum`, ["-c", "--strict", "--quiet", `manifest-${algorithm}.txt`], { cwd: bag() });
      execFileSync(`${algorithm}sum`, ["-c", "--strict", "--quiet", `tagmanifest-${algorithm}.txt`], { cwd: bag() });
    }
    expect(isValid(bag())).toBe(true);
    expect(spawnSync(process.execPath, [ROUSE, "verify", bag()])).toMatchObject({ status: 0 });
  });

  it("holds bench, images, findings and log, with what images hold shown as text only", () => {
    const html = readFileSync(join(bag(), "data/dossier.html"), "utf8");
    expect(html).toContain("Larkfield 9, mended");
    expect(html).toContain("&lt;b&gt;first&lt;/b&gt; run");
    expect(html).not.toContain("<script");
    expect(
      readFileSync(join(bag(), "data/job/images/tern.img")).equals(readFileSync(join(folder, "job/images/tern.img"))),
    ).toBe(true);
    const dossier = JSON.parse(readFileSync(join(bag(), "data/dossier.json"), "utf8"));
    expect(dossier.images[0]).toMatchObject({ file: "images/tern.img", licence: "MIT" });
  });

  it("is the same bytes when packed again", () => {
    const again = join(folder, "again");
    execFileSync(process.execPath, [ROUSE, "pack", join(folder, "job"), again]);
    execFileSync("diff", ["-r", bag(), again]);
  });

  it("writes over nothing", () => {
    expect(spawnSync(process.execPath, [ROUSE, "pack", join(folder, "job"), bag()])).toMatchObject({ status: 2 });
  });
});

describe("one changed bit", () => {
  it("is found wherever it is", async () => {
    const bag = join(folder, "small");
    const files = await writeBag(bag, [abc, { path: "data/b/c.bin", bytes: Uint8Array.of(1, 2, 3) }], []);
    expect(await verifyBagFolder(bag)).toEqual([]);
    for (const { path, bytes } of files)
      for (let at = 0; at < bytes.length; at++) {
        const changed = Uint8Array.from(bytes);
        changed[at] = changed[at]! ^ (1 << (at % 8));
        writeFileSync(join(bag, path), changed);
        // The manifests of tag files cover everything but themselves; a change in them disagrees with what they list.
        expect((await verifyBagFolder(bag)).length, `${path} byte ${at}`).toBeGreaterThan(0);
        writeFileSync(join(bag, path), bytes);
      }
    writeFileSync(join(bag, "data/extra"), "x");
    expect((await verifyBagFolder(bag)).map((each) => each.path)).toContain("data/extra");
  });
});
