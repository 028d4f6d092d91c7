import { chmod, lstat, mkdir, mkdtemp, readdir, readFile, rm, symlink, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join, sep } from "node:path";
import fc from "fast-check";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { extractTo, type FileToExtract } from "./extract.ts";
import { clashKey, storedName } from "./names.ts";

let top: string;
beforeEach(async () => {
  top = await mkdtemp(join(tmpdir(), "rouse-extract-"));
});
afterEach(() => rm(top, { recursive: true, force: true }));

const file = (text: string, ...nameParts: string[]): FileToExtract => ({
  path: nameParts.join("/"),
  nameParts,
  bytes: new TextEncoder().encode(text),
});

/** Every file below a folder, as paths with "/". */
async function everyFile(folder: string): Promise<string[]> {
  const entries = await readdir(folder, { recursive: true, withFileTypes: true });
  return entries
    .filter((entry) => !entry.isDirectory())
    .map((entry) =>
      join(entry.parentPath, entry.name)
        .slice(folder.length + 1)
        .replaceAll(sep, "/"),
    )
    .sort();
}

describe("extractTo", () => {
  it("writes files and folders, makes the destination, and tells what it wrote", async () => {
    const out = join(top, "new", "out");
    const written = await extractTo(out, [file("one", "A.TXT"), file("two", "SUB", "DEEP", "B.TXT")]);
    expect(written).toEqual([
      { path: "A.TXT", hostPath: "A.TXT", size: 3 },
      { path: "SUB/DEEP/B.TXT", hostPath: "SUB/DEEP/B.TXT", size: 3 },
    ]);
    expect(await readFile(join(out, "SUB/DEEP/B.TXT"), "utf8")).toBe("two");
    expect(await everyFile(out)).toEqual(["A.TXT", "SUB/DEEP/B.TXT"]);
  });

  it("keeps hostile names inside the destination", async () => {
    const out = join(top, "out");
    const names = ["..", "../../evil", "/etc/evil", "..\\evil", "C:\\evil", "a\0b", ".", "CON", "evil.", ""];
    const written = await extractTo(
      out,
      names.map((name) => file(name, name)),
    );
    expect(await readdir(top)).toEqual(["out"]);
    expect(await readdir(out)).toHaveLength(names.length);
    for (const [index, { hostPath }] of written.entries()) expect(storedName(hostPath)).toBe(names[index]);
    const folders = await extractTo(join(top, "two"), [file("x", "..", "..", "evil")]);
    expect(folders[0]?.hostPath).toBe("%2E%2E/%2E%2E/evil");
  });

  it("keeps names apart that a host would take for one, reversibly", async () => {
    const out = join(top, "out");
    const files = [
      file("1", "README"),
      file("2", "readme"),
      file("3", "ReadMe"),
      file("4", "readme", "inner"),
      file("5", "README", "inner"),
      file("6", "README"),
    ];
    const written = await extractTo(out, files);
    expect(written.map(({ hostPath }) => hostPath).slice(0, 2)).toEqual(["README", "%72eadme"]);
    expect(new Set(written.map(({ hostPath }) => clashKey(hostPath))).size).toBe(files.length);
    for (const [index, { hostPath }] of written.entries()) {
      expect(hostPath.split("/").map(storedName)).toEqual(files[index]?.nameParts);
      expect(await readFile(join(out, hostPath), "utf8")).toBe(String(index + 1));
    }
  });

  it("keeps the folders of long names apart that differ in case only", async () => {
    const long = "n".repeat(250);
    const written = await extractTo(join(top, "out"), [file("1", `${long}1`), file("2", `${long.toUpperCase()}2`)]);
    const [first, second] = written.map(({ hostPath }) => clashKey(hostPath.split("/")[0] ?? ""));
    expect(first).not.toBe(second);
    expect(storedName(written[1]?.hostPath ?? "")).toBe(`${long.toUpperCase()}2`);
  });

  it("keeps any set of names apart and inside", async () => {
    const part = fc.oneof(
      fc.string({ unit: fc.constantFrom(..."aA./%\\: é\u0301"), maxLength: 3 }),
      fc.string({ unit: "binary", maxLength: 5 }),
      fc.constant("n".repeat(300)),
    );
    let round = 0;
    await fc.assert(
      fc.asyncProperty(
        fc.uniqueArray(fc.array(part, { minLength: 1, maxLength: 3 }), { maxLength: 6 }),
        async (all) => {
          const out = join(top, `case${round++}`, "out");
          const written = await extractTo(
            out,
            all.map((nameParts, index) => file(String(index), ...nameParts)),
          );
          expect((await readdir(join(out, ".."))).length).toBe(1);
          expect(await everyFile(out)).toEqual(written.map(({ hostPath }) => hostPath).sort());
          for (const [index, { hostPath }] of written.entries()) {
            expect(await readFile(join(out, hostPath), "utf8")).toBe(String(index));
          }
        },
      ),
      { seed: 11, numRuns: 25 },
    );
  });

  it("plans twenty thousand entries of the same name without delay", async () => {
    const blocked = join(top, "blocked");
    await writeFile(blocked, "");
    const files = Array.from({ length: 20_000 }, (_, index) => file("x", index % 2 === 0 ? "A" : "a", "B"));
    // All "A" are one folder and so are all "a"; the destination is a file, so that only the plan is made.
    const started = performance.now();
    await expect(extractTo(blocked, files)).rejects.toThrow(/cannot be written to/);
    expect(performance.now() - started).toBeLessThan(2_000);
  });

  it("lists what exists and writes nothing, unless told to replace", async () => {
    const out = join(top, "out");
    await mkdir(out);
    await writeFile(join(out, "B"), "old");
    const files = [file("new a", "A"), file("new b", "B")];
    await expect(extractTo(out, files)).rejects.toMatchObject({
      code: "would-overwrite",
      message: "Nothing was written, because these exist already: B.",
    });
    expect(await everyFile(out)).toEqual(["B"]);
    await extractTo(out, files, { replace: true });
    expect(await readFile(join(out, "B"), "utf8")).toBe("new b");
  });

  it("counts what exists beyond the first ten", async () => {
    const files = Array.from({ length: 12 }, (_, index) => file("x", `F${String(index).padStart(2, "0")}`));
    await extractTo(top, files);
    await expect(extractTo(top, files)).rejects.toThrow(/F00, .*F09 and 2 more\.$/);
  });

  it("refuses a folder that a link leads out of the destination, and replaces a link instead of following it", async () => {
    const out = join(top, "out");
    await mkdir(join(top, "outside"));
    await mkdir(out);
    await symlink(join(top, "outside"), join(out, "SUB"));
    await expect(extractTo(out, [file("x", "SUB", "F")])).rejects.toMatchObject({ code: "outside-folder" });
    await writeFile(join(top, "outside", "target"), "safe");
    await symlink(join(top, "outside", "target"), join(out, "L"));
    await expect(extractTo(out, [file("x", "L")])).rejects.toMatchObject({ code: "would-overwrite" });
    await extractTo(out, [file("x", "L")], { replace: true });
    expect(await readFile(join(top, "outside", "target"), "utf8")).toBe("safe");
    expect((await lstat(join(out, "L"))).isFile()).toBe(true);
    expect(await readdir(join(top, "outside"))).toEqual(["target"]);
  });

  it("takes back what it wrote where a later file fails", async () => {
    const out = join(top, "out");
    await mkdir(out);
    await writeFile(join(out, "blocked"), "a file where a folder is needed");
    await expect(extractTo(out, [file("x", "A"), file("y", "D", "B"), file("z", "blocked", "C")])).rejects.toThrow(
      /cannot be|a file/,
    );
    expect(await everyFile(out)).toEqual(["blocked"]);
    expect(await readdir(out)).toEqual(["blocked"]);
  });

  it("keeps the permissions of a file it replaces", async () => {
    await writeFile(join(top, "S"), "old");
    await chmod(join(top, "S"), 0o600);
    await extractTo(top, [file("new", "S")], { replace: true });
    expect((await lstat(join(top, "S"))).mode & 0o777).toBe(0o600);
  });
});
